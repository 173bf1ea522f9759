/** Response address of a control unit ↔ the address it is asked at. ISO 15765-4, from memory. */

/** "7E8" → "7E0", "18DAF110" → "18DA10F1"; null when the address is not of that kind. */
export function requestAddress(ecu: string): string | null {
  if (/^7E[89A-F]$/.test(ecu)) return (Number.parseInt(ecu, 16) - 8).toString(16).toUpperCase();
  const m = /^18DAF1([0-9A-F]{2})$/.exec(ecu);
  return m ? `18DA${m[1]}F1` : null;
}

export const FUNCTIONAL = { can11: '7DF', can29: '18DB33F1' } as const;
