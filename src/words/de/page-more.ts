/** Deutsch für die Bereiche außer der Fahrt, geholt mit dem ersten von ihnen. */
import { codes } from './codes.ts';
import { compare } from './compare.ts';
import { errors } from './errors.ts';
import { measurements } from './measurements.ts';
import { namesMore } from './names-more.ts';
import { connect } from './page-connect.ts';
import { findings } from './page-findings.ts';
import { handbook } from './page-handbook.ts';
import { help } from './page-help.ts';
import { house } from './page-house.ts';
import { jobs } from './page-jobs.ts';
import { kinds } from './page-kinds.ts';
import { rules } from './rules.ts';
import { visit } from './visit.ts';
import { refusals, wire } from './wire.ts';

export const more = {
  ...compare,
  ...errors,
  ...connect,
  ...findings,
  ...handbook,
  ...house,
  ...help,
  ...jobs,
  ...kinds,
  ...measurements,
  ...namesMore,
  ...rules,
  ...visit,
  ...wire,
  ...refusals,
};

export const meanings = codes;
