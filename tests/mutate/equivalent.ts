/** Changes that no test can notice, because nothing becomes of them; by module, kind and text, with the reason. */
const EQUIVALENT: Readonly<Record<string, string>> = {
  'src/adapter/slcan/lost.ts number: 16 → 20': 'one hex digit is the same number to a larger base',
  'src/adapter/slcan/lost.ts comparison: < → <=': 'behind the last digit stands none',
  'src/adapter/slcan/lost.ts number: 1 → 2': 'no digits are left behind a length that stands so late',
  'src/adapter/slcan/lost.ts number: 2 → 3': 'no digit is left behind a first half that stands so late',
  'src/adapter/slcan/lost.ts number: 2000 → 2500': 'how much is remembered changes the time alone',
  'src/adapter/slcan/lost.ts statement: KNOWN.set(key, harmless); → ;':
    'how much is remembered changes the time alone',
  'src/adapter/at/counting.ts number: 16 → 20': 'one hex digit is the same number to a larger base',
  'src/adapter/at/counting.ts number: 0 → 1': 'a whole answer has one message at least',
  'src/poll/wire-gate.ts number: 1 → 2': 'a number less than nothing stands for a byte that is not there',
  'src/isotp/address.ts number: 16 → 20': 'one hex digit is the same number to a larger base',
  'src/isotp/frame.ts comparison: <= → <': '7F says 127 ms by itself and as a reserved value',
  'src/isotp/reassembler.ts comparison: < → <=': 'of two that are due at once either may be named',
  'src/isotp/receiver.ts number: 0 → 1': 'where nothing is open nothing is given up',
  'src/isotp/receiver.ts comparison: < → <=':
    'a byte too many is overwritten by the next frame, or lies beyond the end',
  'src/isotp/reassembler.ts comparison: > → >=': 'of none nothing is cleared',
  'src/isotp/sender.ts number: 0 → 1': 'a first value that the start of sending overwrites',
  'src/analysis/spread.ts number: 1.4826 → 1.8532499999999998':
    'a first value of rounds that go on until nothing moves',
  'src/analysis/spread.ts number: 1e-6 → 0.0000012499999999999999':
    'how little a last round moves lies far below what is printed',
  'src/analysis/boost/detector.ts statement: this.#knownFor = this.#aligner.demandName; → ;':
    'what was found is made anew, and is the same',
  'src/analysis/boost/curve.ts number: 6750 → 8438': 'what is learned ends at 6950 rpm',
  'src/analysis/boost/intermittent.ts number: 0.7 → 0.875':
    'no number of pulls asks for a share between them',
  'src/analysis/boost/intermittent.ts comparison: >= → >': 'no product of these shares is thirty to the bit',
  'src/analysis/boost/points.ts number: 512 → 640': 'how much is remembered changes the memory alone',
  'src/analysis/plausibility.ts number: 1 → 2': 'of a comparison of names only the sign counts',
  'src/analysis/link-gaps.ts number: 0 → 1': 'of a drive without readings the limit is a minute either way',
  'src/analysis/boost/noise.ts number: 0 → 1': 'a number that is named and not read',
  'src/analysis/road/road-meter.ts number: 0 → 1': 'a first value that the first speed overwrites',
  'src/analysis/sensors.ts number: 0 → 1': 'a first value that the first stretch overwrites',
  'src/isotp/reassembler.ts statement: this.#spare = receiver; → ;': 'one made anew does the same',
  'src/run/capture/writer.ts number: 10_000 → 12500':
    'how much is held for a moment changes the memory alone',
  'src/poll/scheduler.ts number: 1000 → 1250': 'either is more than any is late that was asked',
  'src/run/capture/writer.ts number: 16 → 20':
    'how much is gathered before it waits for the disk changes the memory alone',
  'src/analysis/sensors.ts comparison: < → <=':
    'signals have names of their own; of two that are as near either gives the same',
  'src/analysis/coolant/warm-up-meter.ts number: 0 → 1': 'a first value that the start overwrites',
  'src/analysis/coolant/bins.ts number: 0 → 1':
    'a step with readings has a mean; 1 rpm is no running engine either',
  'src/analysis/coolant/envelope.ts number: 0 → 1': 'neither 0 nor 1 km/h is moving',
  'src/compare/shifts.ts number: 0 → 1': 'pulls are told apart by their number, wherever it begins',
  'src/analysis/boost/cells.ts number: 100 → 125': 'no demand lies above 100 %',
  'src/analysis/coolant/plateau.ts statement: this.#recent.shift(); → ;':
    'how much is remembered changes the memory alone',
  'src/analysis/coolant/settled.ts comparison: > → >=': 'the highest is replaced by the same number',
  'src/analysis/coolant/road-load.ts number: 0 → 1': 'steps are of five seconds',
};

/** @param survivor `FILE:LINE KIND: WAS → IS` */
export function reasonWhyEquivalent(survivor: string): string | null {
  return EQUIVALENT[survivor.replace(/:\d+ /, ' ')] ?? null;
}
