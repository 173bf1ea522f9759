/**
 * An answer as the JSON that goes to a page. It is written where it was read, so that the thread that records only
 * passes bytes on; whoever asks from inside the program takes `value`.
 */
export class Written<T> {
  readonly json: Uint8Array;

  /** @param json UTF-8 */
  constructor(json: Uint8Array) {
    this.json = json;
  }

  static of<T>(value: T): Written<T> {
    return new Written(new TextEncoder().encode(JSON.stringify(value)));
  }

  get value(): T {
    return JSON.parse(new TextDecoder().decode(this.json)) as T;
  }
}
