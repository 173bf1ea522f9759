/** What a command was asked to write into a file. */
import { type FileHandle, open, rm } from 'node:fs/promises';
import { saying } from '../core/error-says.ts';
import { HandbackError, toldOf } from '../core/errors.ts';

/**
 * Of what was cut off nothing is left: half a sheet would look like one.
 * @param flag wx: the file must not exist
 * @throws HandbackError run.write
 */
export async function writeOut(path: string, content: string | Uint8Array, flag: 'w' | 'wx' = 'w') {
  try {
    const file = await open(path, flag);
    const isPlain = (await file.stat()).isFile(); // no device, no pipe
    await written(file, content).catch(async (cause: unknown) => {
      if (isPlain) await rm(path, { force: true });
      throw cause;
    });
  } catch (cause) {
    throw new HandbackError('run.write', saying('error.not-written', { path, why: toldOf(cause) }), {
      cause,
    });
  }
}

async function written(file: FileHandle, content: string | Uint8Array): Promise<void> {
  try {
    await file.writeFile(content);
  } finally {
    await file.close();
  }
}
