// A small wheel, for tests: 3 channels of 16 steps, 4 steps to the beat, 2 beats
// to the bar: 2 bars. Bar C5 strikes two steps late, so its pins are set two
// steps early.
export function smallTurn() {
  return {
    seq: 0,
    steps: 16,
    steps_per_beat: 4,
    beats_per_bar: 2,
    channels: [
      { id: "bar-c5", name: "Bar C5", kind: "bar", row: 1, resting: false, advance: 2, pins: [0, 4, 14], aims: { 4: 7 } },
      { id: "tube-d3", name: "Tube D3", kind: "tube", row: 2, resting: false, advance: 0, pins: [3, 4] },
      { id: "drum", name: "Drum", kind: "drum", row: 3, resting: true, advance: 0, pins: [] },
    ],
  };
}
