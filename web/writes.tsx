/** Around what changes the library: where it can only be read, nothing in here can be typed or pressed, and it says why. */
import type { ComponentChildren } from 'preact';
import { daemon, readOnly } from './state.ts';
import { told } from './words.ts';

export function Writes({ children }: { children: ComponentChildren }) {
  const why = readOnly.value ? told(daemon.value!, 'readOnly') : undefined;
  return (
    <fieldset class="writes" disabled={readOnly.value} title={why ?? undefined} aria-label={why ?? undefined}>
      {children}
    </fieldset>
  );
}
