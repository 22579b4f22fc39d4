package page

import (
	"fmt"
	"strings"
)

// Addresses of pages. What follows an id is given as parts, and a query as the
// end of the last: PinningURL(3, "timing?tempo=84") is
// "/pinnings/3/timing?tempo=84".

// SongURL is an address of a song.
func SongURL(id int64, parts ...string) string { return address("songs", id, parts) }

// PinningURL is an address of a pinning.
func PinningURL(id int64, parts ...string) string { return address("pinnings", id, parts) }

// ProgrammeURL is an address of a programme.
func ProgrammeURL(id int64, parts ...string) string { return address("programmes", id, parts) }

// MachineURL is an address of a machine.
func MachineURL(id int64, parts ...string) string { return address("machines", id, parts) }

// JobURL is an address of a job at the wheel of a machine.
func JobURL(machine, job int64, parts ...string) string {
	return MachineURL(machine, append([]string{"jobs", fmt.Sprint(job)}, parts...)...)
}

func address(area string, id int64, parts []string) string {
	return fmt.Sprintf("/%s/%d%s", area, id, strings.Join(append([]string{""}, parts...), "/"))
}

// PinURL is where the page of a pinning shows one hole of its wheel.
func PinURL(pinning int64, tempo, channel string, step int) string {
	return fmt.Sprintf("%s?tempo=%s#%s.%d", PinningURL(pinning), tempo, channel, step)
}
