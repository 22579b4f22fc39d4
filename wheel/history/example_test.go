package history_test

import (
	"context"
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// Ann pulls a pin while Ben, who has not seen that yet, aims the same pin and
// drives another one. Of Ben's edit only what meets Ann's is held back.
func ExamplePinning_Merge() {
	ctx := context.Background()
	m := newMemory(pinAt("a", 14))
	pull, _ := m.open().Merge(ctx, history.NewEdit{Kind: "pull", Words: "pull a pin", Changes: []wheel.PinChange{wheel.Pull(pinAt("a", 14))}})
	m.add(pull, "Ann")
	nudge, _ := m.open().Merge(ctx, history.NewEdit{Base: 0, Kind: "nudge", Words: "aim a pin", Changes: []wheel.PinChange{
		{Channel: "a", Step: 14, Was: pinAt("a", 14).InHole(), Now: aimedAt("a", 14, 16).InHole()},
		wheel.Drive(pinAt("b", 30)),
	}})
	m.add(nudge, "Ben")
	for _, c := range nudge.Changes {
		fmt.Println("made: step", c.Step, "of", c.Channel, "has", c.Now)
	}
	for _, c := range nudge.Held {
		fmt.Println("held back: step", c.Step, "of", c.Channel, "would have", c.Now, "and has", c.Is, "since edit", c.Seq, "by", c.By)
	}
	undo, _ := m.open().Undo(ctx, nudge.Seq)
	fmt.Println("undo would change", undo.Changes[0].Now, "for", undo.Changes[0].Was)
	// Output:
	// made: step 30 of b has a pin
	// held back: step 14 of a would have a pin aimed at 16 and has no pin since edit 1 by Ann
	// undo would change no pin for a pin
}
