// Writes mixed.mid with the midi-file library: running status, note-on with
// velocity 0 for note-off, and every kind of event between the notes.
const fs = require('fs')
const { writeMidi } = require('midi-file')

let seed = 1
const random = n => (seed = (seed * 48271) % 2147483647) % n

function track(name, channel, notes) {
  const timed = [{ time: 0, type: 'trackName', text: name }, { time: 0, type: 'programChange', channel, programNumber: random(128) }]
  for (let i = 0, time = 0; i < notes; i++) {
    time += random(3) * 48 + random(2)
    const noteNumber = 36 + random(48)
    timed.push({ time, type: 'noteOn', channel, noteNumber, velocity: 1 + random(127) })
    timed.push({ time: time + 1 + random(400), type: 'noteOff', channel, noteNumber, velocity: 0 })
    if (i % 9 === 0) timed.push({ time, type: 'controller', channel, controllerType: random(120), value: random(128) })
    if (i % 14 === 0) timed.push({ time, type: 'pitchBend', channel, value: random(16384) - 8192 })
    if (i % 17 === 0) timed.push({ time, type: 'channelAftertouch', channel, amount: random(128) })
    if (i % 23 === 0) timed.push({ time, type: 'noteAftertouch', channel, noteNumber, amount: random(128) })
    if (i % 31 === 0) timed.push({ time, type: 'sysEx', data: [0x7D, random(128), 0xF7] })
    if (i % 37 === 0) timed.push({ time, type: 'lyrics', text: 'la'.repeat(random(90)) })
    if (i % 41 === 0) timed.push({ time, type: 'sequencerSpecific', data: [0, 1, 2, 0xFF, 0x90] })
  }
  return events(timed)
}

function events(timed) {
  timed.sort((a, b) => a.time - b.time)
  let now = 0
  const list = timed.map(({ time, ...event }) => {
    const deltaTime = time - now
    now = time
    return { deltaTime, ...event }
  })
  return [...list, { deltaTime: 100, type: 'endOfTrack' }]
}

const conductor = [{ time: 0, type: 'timeSignature', numerator: 7, denominator: 8, metronome: 24, thirtyseconds: 8 }]
for (let i = 0; i < 40; i++) conductor.push({ time: i * 991, type: 'setTempo', microsecondsPerBeat: 300000 + random(500000) })

const file = writeMidi({
  header: { format: 1, ticksPerBeat: 384 },
  tracks: [events(conductor), track('bars', 0, 500), track('bells', 5, 300), track('drums', 9, 400)],
}, { running: true, useByte9ForNoteOff: true })
fs.writeFileSync('mixed.mid', Buffer.from(file))
