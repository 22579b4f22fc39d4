// Lists the notes of each MIDI file named, paired by the @tonejs/midi library,
// as NAME.notes.csv: track (from 1), tick, ticks, key, velocity. That library
// splits format 0 by channel, and does not keep the channel of a note.
const fs = require('fs')
const { Midi } = require('@tonejs/midi')

for (const path of process.argv.slice(2)) {
  const data = fs.readFileSync(path)
  const format = data.readUInt16BE(8)
  const midi = new Midi(data)
  const rows = midi.tracks.flatMap((track, i) => track.notes.map(note =>
    [format === 0 ? 1 : i + 1, note.ticks, note.durationTicks, note.midi, Math.round(note.velocity * 127)]))
  rows.sort((a, b) => { for (let i = 0; i < 5; i++) if (a[i] !== b[i]) return a[i] - b[i]; return 0 })
  fs.writeFileSync(path.replace(/\.mid$/, '.notes.csv'), rows.map(row => row.join(', ') + '\n').join(''))
}
