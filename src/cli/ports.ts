/** `handback ports`: serial ports by a name that stays, and whether each looks like an adapter. */
import { Command } from 'commander';
import { listPorts } from '../link/ports.ts';
import { ioOf, say } from './io.ts';

export function portsCommand(): Command {
  return new Command('ports')
    .description('serial ports with a stable identity and a guess whether each is an adapter')
    .action(async (_options: unknown, command: Command) => {
      const io = ioOf(command);
      const { ports, note } = await listPorts();
      if (note) io.say(note);
      for (const port of ports) {
        io.result(port);
        const likely = port.likelyAdapter ? io.words.say(say('cli.ports.likely')) : '';
        io.print(`${port.path}  ${likely}  ${port.identity}`.trimEnd());
      }
      if (ports.length === 0) io.say(say('cli.ports.none'));
    });
}
