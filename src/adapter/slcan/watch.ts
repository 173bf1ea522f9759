import type { LineWatch, Permission } from '../dialect.ts';

const SETTINGS = /^([CVNOLF]|S[0-8]|[Mm][0-9A-F]{8})$/;
const FRAME = /^(?:t(7DF|7E[0-7])|T(18DB33F1|18DA[0-9A-F]{2}F1))([1-8])((?:[0-9A-F]{2})+)$/;

export class FrameWatch implements LineWatch {
  readonly #may: Permission;

  constructor(may: Permission) {
    this.#may = may;
  }

  heard(): void {}

  mayPass(bytes: Uint8Array): boolean {
    const line = /^([0-9A-Za-z]+)\r$/.exec(String.fromCharCode(...bytes.subarray(0, 64)))?.[1] ?? '';
    if (SETTINGS.test(line)) return true;
    const [, , , digit, hex = ''] = FRAME.exec(line) ?? [];
    const data = Buffer.from(hex, 'hex');
    if (digit === undefined || data.length !== Number(digit)) return false;
    const kind = data[0]! >> 4;
    if (kind === 3) return data.length >= 3; // flow control: takes an answer, asks for nothing
    const length = data[0]! & 15;
    return (
      kind === 0 && length >= 1 && length < data.length && this.#may(data.subarray(1, 1 + length)) !== 'no'
    );
  }
}
