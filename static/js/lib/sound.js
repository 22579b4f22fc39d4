// @ts-check
// The sounds of struck bodies: sums of decaying partials, worked out sample by
// sample. Frequencies follow from mechanics and from the standard pitch; how
// loud each partial is and how long it rings is from memory of such bodies.

/**
 * A partial: its frequency in Hz, its level at the strike, and the seconds in
 * which it falls by 60 dB.
 *
 * @typedef {{hz: number, level: number, fall: number}} Partial
 *
 * The noise of a contact: its level, and the seconds in which it falls by
 * 60 dB.
 * @typedef {{level: number, fall: number}} Noise
 *
 * @typedef {{partials: Partial[], noise: Noise, peak: number}} Body
 */

/**
 * The frequency of a MIDI key in equal temperament, in Hz: key 69 is A4 at
 * 440 Hz (ISO 16).
 *
 * @param {number} key
 */
export function pitchOf(key) {
  return 440 * 2 ** ((key - 69) / 12);
}

/**
 * The characteristic numbers of a bar with free ends, 4.730, 7.853, 10.996 …:
 * the roots of cos x · cosh x = 1, each within a few hundredths of
 * (2n + 1) π/2, from where Newton's steps lead to it. Its frequencies go as
 * their squares, 1 : 2.756 : 5.404 (Euler and Bernoulli's beam).
 *
 * @param {number} count
 */
export function freeBarRoots(count) {
  return Array.from({ length: count }, (_, i) => {
    let x = ((2 * (i + 1) + 1) * Math.PI) / 2;
    for (let step = 0; step < 8; step++) {
      const sech = 1 / Math.cosh(x);
      x -= (Math.cos(x) - sech) / (sech * Math.tanh(x) - Math.sin(x));
    }
    return x;
  });
}

const beam = freeBarRoots(8);

/** A bar's partials over its lowest. */
const barRatios = beam.slice(0, 4).map((x) => (x / beam[0]) ** 2);

/**
 * A tube's partials over the pitch that is heard. The ear takes the fourth,
 * fifth and sixth, near 2 : 3 : 4, for the overtones of a tone that is not
 * there, an octave below the fourth (Fletcher and Rossing, The Physics of
 * Musical Instruments, on chimes; from memory).
 */
const tubeRatios = beam.map((x) => 2 * (x / beam[3]) ** 2);

/**
 * The lowest zeros of the Bessel functions J0, J1, J2, J0, J3, J1: those of a
 * round membrane held at its rim, 1 : 1.593 : 2.136 : 2.295 : 2.653 : 2.917
 * (Abramowitz and Stegun, table 9.5).
 */
export const membraneZeros = [2.404825558, 3.83170597, 5.135622302, 5.520078110, 6.380161896, 7.015586670];

const drumRatios = membraneZeros.map((z) => z / membraneZeros[0]);

/** Hum, prime, tierce, quint, nominal and above, over the pitch that is heard (from memory). */
const bellRatios = [0.5, 1, 1.2, 1.5, 2, 2.5, 3, 4];

const stringRatios = [1, 2, 3, 4, 5, 6, 7, 8];

/** How percussion keys of General MIDI are tuned here, in Hz, from memory. @type {Record<number, number>} */
const percussionHz = {
  35: 62, 36: 70, 37: 420, 38: 190, 40: 210,
  41: 88, 43: 104, 45: 124, 47: 146, 48: 170, 50: 200,
  56: 560, 60: 340, 61: 250, 62: 360, 63: 300, 64: 210, 65: 420, 66: 300,
  67: 880, 68: 660, 75: 2350, 76: 1080, 77: 790, 80: 1480, 81: 1480,
};

const unknownPercussionHz = 500;
const unknownKey = 60;

/**
 * Partials over a pitch, with the level and the fall of each.
 *
 * @param {number} hz
 * @param {number[]} ratios
 * @param {number[]} levels
 * @param {(ratio: number, i: number) => number} fall
 * @returns {Partial[]}
 */
function over(hz, ratios, levels, fall) {
  return levels.map((level, i) => ({ hz: hz * ratios[i], level, fall: fall(ratios[i], i) }));
}

/**
 * Small bodies ring shorter: seconds at C5, changed as the root of the pitch.
 *
 * @param {number} hz
 * @param {number} atC5
 */
function ring(hz, atC5) {
  return Math.min(4.5, atC5 * Math.sqrt(523.25 / hz));
}

/** @type {Record<string, (hz: number, key: number, drum: boolean) => Body>} */
const bodies = {
  bar: (hz) => ({
    partials: over(hz, barRatios, [1, 0.32, 0.14, 0.05], (r) => ring(hz, 1.9) / r ** 0.8),
    noise: { level: 0.1, fall: 0.012 },
    peak: 0.5,
  }),
  tube: (hz) => ({
    partials: over(hz, tubeRatios, [0.05, 0.12, 0.3, 1, 0.8, 0.6, 0.3, 0.18], (r) => ring(hz, 3) / Math.max(1, r / 2) ** 0.7),
    noise: { level: 0.06, fall: 0.012 },
    peak: 0.55,
  }),
  bell: (hz) => ({
    partials: over(hz, bellRatios, [0.35, 0.6, 0.5, 0.25, 1, 0.3, 0.25, 0.2], (r) => ring(hz, 3) / Math.max(0.7, r) ** 0.8),
    noise: { level: 0.08, fall: 0.01 },
    peak: 0.5,
  }),
  block: (hz) => ({
    partials: over(hz, barRatios, [1, 0.4, 0.15], (r) => 0.14 / r ** 0.6),
    noise: { level: 0.25, fall: 0.012 },
    peak: 0.4,
  }),
  drum: (hz, key, drum) => ({
    partials: over(hz, drumRatios, [1, 0.55, 0.4, 0.3, 0.22, 0.15], (r) => 0.55 * Math.min(1, Math.sqrt(120 / hz)) / r),
    noise: drum && (key === 38 || key === 40) ? { level: 0.7, fall: 0.22 } : { level: 0.3, fall: 0.035 },
    peak: 0.75,
  }),
  string: (hz) => ({
    partials: over(hz, stringRatios, stringRatios.map((n) => 1 / n), (r) => ring(hz, 2) / r ** 0.7),
    noise: { level: 0.08, fall: 0.015 },
    peak: 0.5,
  }),
  other: (hz, key, drum) => ({
    partials: over(hz, barRatios, [0.6, 1, 0.7, 0.4], (r) => (drum && key === 80 ? 0.25 : ring(hz, 2.6)) / r ** 0.4),
    noise: { level: 0.08, fall: 0.008 },
    peak: 0.3,
  }),
};

/**
 * What a channel sounds on: a kind of the machine file, and the key that it
 * stands for or null; drum makes that a percussion key of General MIDI.
 *
 * @param {string} kind
 * @param {number | null} key
 * @param {boolean} drum
 * @returns {Body}
 */
export function bodyOf(kind, key, drum) {
  const hz = drum && key !== null ? (percussionHz[key] ?? unknownPercussionHz) : pitchOf(key ?? unknownKey);
  return (bodies[kind] ?? bodies.other)(hz, key ?? unknownKey, drum);
}

const longestS = 4.5;
const fadeS = 0.008;
const thousandth = Math.log(1000); // 60 dB

/**
 * One strike of a body, as samples. Each partial starts at zero, so the sound
 * starts without a click; partials that the rate cannot carry are left out.
 *
 * @param {Body} body
 * @param {number} rate samples a second
 * @returns {Float32Array<ArrayBuffer>}
 */
export function strikeOf({ partials, noise, peak }, rate) {
  const carried = partials.filter((p) => p.hz < rate * 0.45);
  const lasts = Math.min(longestS, Math.max(noise.fall, ...carried.map((p) => p.fall)));
  const sum = new Float64Array(Math.ceil(lasts * rate));
  for (const { hz, level, fall } of carried) {
    // sin(ωn) rⁿ by its recurrence, y(n) = 2r cos ω y(n−1) − r² y(n−2).
    const w = (2 * Math.PI * hz) / rate;
    const r = Math.exp(-thousandth / (fall * rate));
    const a = 2 * r * Math.cos(w);
    const b = r * r;
    let y1 = 0;
    let y2 = (-level * Math.sin(w)) / r;
    for (let n = 0; n < sum.length; n++) {
      sum[n] += y1;
      const y = a * y1 - b * y2;
      y2 = y1;
      y1 = y;
    }
  }
  const r = Math.exp(-thousandth / (noise.fall * rate));
  const rise = rate * 0.0005;
  let level = noise.level;
  let seed = 1;
  for (let n = 0; n < sum.length && level > 1e-4; n++) {
    seed = (Math.imul(seed, 1664525) + 1013904223) | 0; // any even noise will do; this one is the same every time
    sum[n] += level * Math.min(1, n / rise) * (seed / 2 ** 31);
    level *= r;
  }
  let most = 0;
  for (const v of sum) most = Math.max(most, Math.abs(v));
  const fade = Math.min(sum.length, Math.ceil(fadeS * rate));
  const samples = new Float32Array(sum.length);
  for (let n = 0; n < sum.length; n++) samples[n] = ((sum[n] * peak) / (most || 1)) * Math.min(1, (sum.length - 1 - n) / fade);
  return samples;
}

/** How many strikes sound at once at the most; the oldest makes room. */
export const mostAtOnce = 48;

/**
 * Where strikes sound together: what holds them below full scale, however
 * many there are, and the loudness.
 */
export class Room {
  /** @param {BaseAudioContext} context */
  constructor(context) {
    this.context = context;
    /** @type {Map<string, AudioBuffer>} */
    this.strikes = new Map();
    /** @type {{source: AudioBufferSourceNode, gain: GainNode, from: number, to: number}[]} in the order of their starts */
    this.sounding = [];
    this.bus = new GainNode(context, { gain: 0.35 });
    const press = new DynamicsCompressorNode(context, { threshold: -18, knee: 12, ratio: 4, attack: 0.003, release: 0.15 });
    // tanh(x) of up to eight times full scale: what comes out stays below it.
    const reach = new GainNode(context, { gain: 1 / 8 });
    const curve = Float32Array.from({ length: 8193 }, (_, i) => Math.tanh(8 * (i / 4096 - 1)));
    const bound = new WaveShaperNode(context, { curve });
    this.loudness = new GainNode(context, { gain: 1 });
    this.bus.connect(press).connect(reach).connect(bound).connect(this.loudness).connect(context.destination);
  }

  /**
   * The sound of a channel, worked out once.
   *
   * @param {{kind: string, key: number | null, drum: boolean}} channel
   */
  soundOf({ kind, key, drum }) {
    const id = `${kind} ${key} ${drum}`;
    let buffer = this.strikes.get(id);
    if (!buffer) {
      const samples = strikeOf(bodyOf(kind, key, drum), this.context.sampleRate);
      buffer = new AudioBuffer({ length: samples.length, sampleRate: this.context.sampleRate });
      buffer.copyToChannel(samples, 0);
      this.strikes.set(id, buffer);
    }
    return buffer;
  }

  /**
   * Strikes a channel's body at a time of the context's clock.
   *
   * @param {{kind: string, key: number | null, drum: boolean}} channel
   * @param {number} at seconds
   */
  strike(channel, at) {
    this.sounding = this.sounding.filter((s) => s.to > at || s.from > at);
    if (this.sounding.length >= mostAtOnce) {
      const oldest = /** @type {Room["sounding"][0]} */ (this.sounding.shift());
      oldest.gain.gain.setTargetAtTime(0, at, 0.004);
      oldest.source.stop(at + 0.03);
    }
    const buffer = this.soundOf(channel);
    const source = new AudioBufferSourceNode(this.context, { buffer });
    const gain = new GainNode(this.context);
    source.connect(gain).connect(this.bus);
    source.start(at);
    source.addEventListener("ended", () => gain.disconnect());
    this.sounding.push({ source, gain, from: at, to: at + buffer.duration });
  }

  /**
   * Takes back the strikes that come after a time. Those that ring, ring out.
   *
   * @param {number} after seconds
   */
  takeBack(after) {
    for (const { source, gain, from } of this.sounding) {
      if (from <= after) continue;
      source.stop(0);
      gain.disconnect();
    }
    this.sounding = this.sounding.filter((s) => s.from <= after);
  }

  /** @param {number} share 0 to 1, as the ear takes it */
  setLoudness(share) {
    this.loudness.gain.setTargetAtTime(share * share, this.context.currentTime, 0.02);
  }
}
