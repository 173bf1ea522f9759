#!/usr/bin/env node
/** Limits first; everything else is loaded under them. */
import './lean.ts';

await import('./typed.ts');
