package place

import "pinwright/wheel"

// CheckWheelStays refuses a change of a machine that would put the record of its
// wheel wrong ([wheel.ErrConflict]): a pin is known by channel and step, and is in
// a row at an angle. While work on the wheel is under way, rows and steps stay as
// they are; otherwise those of the pins that are on it do. pins counts them by
// channel.
func CheckWheelStays(before, after *wheel.Machine, pins map[string]int, working bool) error {
	row := make(map[string]int, len(after.Channels))
	for i := range after.Channels {
		row[after.Channels[i].ID] = after.Channels[i].Row
	}
	moved := func(c *wheel.Channel) bool {
		now, there := row[c.ID]
		return !there || now != c.Row
	}
	steps := before.Wheel.Steps != after.Wheel.Steps
	if working {
		same := len(before.Channels) == len(after.Channels) && !steps
		for i := range before.Channels {
			same = same && !moved(&before.Channels[i])
		}
		if !same {
			return wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way, and the change gives it other rows or steps; finish or stop that work first", before.Name)
		}
		return nil
	}
	all := 0
	for _, n := range pins {
		all += n
	}
	if steps && all > 0 {
		return wheel.Refuse(wheel.ErrConflict, "the wheel of %s has %d pins on it and would get %d steps in place of %d, so it would not be known where they are; first note that nothing is on it",
			before.Name, all, after.Wheel.Steps, before.Wheel.Steps)
	}
	for i := range before.Channels {
		if c := &before.Channels[i]; pins[c.ID] > 0 && moved(c) {
			return wheel.Refuse(wheel.ErrConflict, "%s has pins on the wheel of %s (%d), and the change would remove their row, %d; first note what is on the wheel",
				c.Name, before.Name, pins[c.ID], c.Row)
		}
	}
	return nil
}

// CheckWheelBare refuses to lose the record of a wheel that has pins on it, or on
// which work is under way ([wheel.ErrConflict]). name is the machine's.
func CheckWheelBare(name string, pins int, working bool) error {
	switch {
	case working:
		return wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way; finish or stop it first", name)
	case pins > 0:
		return wheel.Refuse(wheel.ErrConflict, "%s has %d pins on its wheel, and their record would be lost; first note that nothing is on it", name, pins)
	}
	return nil
}
