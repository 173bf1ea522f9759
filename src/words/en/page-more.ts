/** English for the places that are not the drive, fetched with the first of them. */
import { connect } from './page-connect.ts';
import { findings } from './page-findings.ts';
import { jobs } from './page-jobs.ts';

export const more = { ...connect, ...findings, ...jobs };
