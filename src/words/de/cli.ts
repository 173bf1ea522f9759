/** Deutsch: was die Befehlszeile von sich aus sagt. */
import type { cli as english } from '../en/cli.ts';
import type { Labels, Messages } from '../statements.ts';

export const cli = {
  'cli.next': '    als Nächstes: {$what :says}',
  'cli.compare.region':
    '{$verdict}  {$region :says}; {$before :num} und {$after :num} vergleichbare Beschleunigungen',
  'cli.compare.effect':
    '{$verdict}  {$region :says}: {$effect :percent finer=1 sign=always} ({$low :percent finer=1 sign=always bare=yes} bis {$high :percent finer=1 sign=always}), {$kpa :pressure finer=1 sign=always}; {$before :num} und {$after :num} vergleichbare Beschleunigungen',
  'cli.compare.tipIn': 'Druckaufbau eine Sekunde nach dem Gasstoß',
  'cli.compare.plateau': 'Betriebstemperatur des Kühlmittels',
  'cli.compare.warmUp': 'Warmlauf, Wärme je Grad',
  'cli.compare.points':
    '{$n :num} Betriebspunkte, davon {$decided :num} für sich entschieden (--json nennt alle)',
  'cli.compare.back': 'Reklamation gegen nachher:',
} as const satisfies Messages<Labels<typeof english>>;
