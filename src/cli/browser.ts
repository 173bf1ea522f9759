/** The user's own browser, by the means that each system has for it. */
import { spawn } from 'node:child_process';

/**
 * Program and arguments that open an address; null where nobody would see it.
 * HANDBACK_BROWSER names a program of one's own.
 */
export function openerOf(
  url: string,
  env: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
): readonly [string, ...string[]] | null {
  if (env.HANDBACK_BROWSER) return [env.HANDBACK_BROWSER, url];
  if (platform === 'win32') return ['rundll32.exe', 'url.dll,FileProtocolHandler', url];
  if (platform === 'darwin') return ['open', url];
  return env.DISPLAY || env.WAYLAND_DISPLAY ? ['xdg-open', url] : null;
}

/** True when something was started that should show it. */
export function openBrowser(url: string): Promise<boolean> {
  const opener = openerOf(url);
  if (opener === null) return Promise.resolve(false);
  const [program, ...args] = opener;
  return new Promise((resolve) => {
    const child = spawn(program, args, { stdio: 'ignore', detached: true });
    child.on('error', () => resolve(false));
    child.on('spawn', () => {
      child.unref();
      resolve(true);
    });
  });
}
