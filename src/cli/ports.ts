/** `handback ports`: serial ports by a name that stays, and whether each looks like an adapter. */
import { Command } from 'commander';
import { listPorts } from '../link/ports.ts';
import { ioOf } from './io.ts';

export function portsCommand(): Command {
  return new Command('ports')
    .description('serial ports with a stable identity and a guess whether each is an adapter')
    .action(async (_options: unknown, command: Command) => {
      const io = ioOf(command);
      const { ports, note } = await listPorts();
      if (note) io.say(note);
      for (const port of ports) {
        io.result(port);
        io.print(
          `${port.path}  ${port.likelyAdapter ? 'likely an adapter' : ''}  ${port.identity}`.trimEnd(),
        );
      }
      if (ports.length === 0)
        io.say('No serial port found. Plug the adapter in, or practise with --link sim.');
    });
}
