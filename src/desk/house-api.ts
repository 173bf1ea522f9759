/** The program itself, as the page sees it: where its library is, how it ends. Types only. */

export interface HouseView {
  readonly version: string;
  /** Whether the licences of what is inside lie beside the program. */
  readonly licences: boolean;
  readonly library: {
    /** Absolute path on this computer. */
    readonly folder: string;
    /** Where it will be from the next start on; null when nothing else was chosen. */
    readonly next: string | null;
    /** False when the library was named at the start: then that counts. */
    readonly changeable: boolean;
  };
}

export interface HouseApi {
  view(): HouseView;
  /** Licences of what is inside, as text; null where they lie with each package. */
  licences(): Promise<string | null>;
  /** What is to be sent when something is wrong, as a text file. */
  report(): Promise<string>;
  /** @throws HandbackError input.usage, library.path, run.write */
  chooseLibrary(folder: string): Promise<HouseView>;
  /**
   * Ends the program once the answer is out.
   * @throws HandbackError run.busy while a run is recorded, unless `endRecording`
   */
  quit(endRecording: boolean): Promise<void>;
}
