/** What comes of a satellite receiver on its link: that it is heard or gone, and its lines. */
export type ReceiverEvent =
  | {
      readonly kind: 'receiver';
      readonly tUs: number;
      /** Heard for the first time or again; gone or silent. */
      readonly state: 'heard' | 'lost';
      readonly text: string;
    }
  /** A line as it came, one character a byte, without its line end; `tUs` is when that arrived. */
  | { readonly kind: 'nmea'; readonly tUs: number; readonly line: string };
