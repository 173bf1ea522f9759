/** `npm run visits`: every visit walked, clicks and seconds of each step; `-- 2 6` walks those alone. Times are of this machine. */
import { builtPage, closeBrowser } from './browser.ts';
import { VISITS, walk } from './visits.ts';

const wanted = process.argv.slice(2).map(Number);
const page = await builtPage();
let wrong = 0;
try {
  for (const [i, visit] of VISITS.entries()) {
    if (wanted.length > 0 && !wanted.includes(i + 1)) continue;
    const walked = await walk(page.folder, visit);
    const accused = (['boost', 'coolant'] as const).filter((s) => walked[s] === 'fault shown');
    const expected = (['boost', 'coolant'] as const).filter((s) => visit[s] === 'fault shown');
    const right = accused.join() === expected.join() && walked.complaints.length === 0;
    if (!right) wrong++;
    console.log(
      `\n${i + 1}. ${visit.name}: ${right ? 'as expected' : `WRONG: ${accused.join(', ') || 'nothing'} accused`}`,
    );
    console.log(`   findings: ${walked.findings}\n   sheet: ${walked.sheet}`);
    if (walked.back !== null) console.log(`   come-back: ${walked.back} (${walked.since.join(', ')})`);
    for (const complaint of walked.complaints) console.log(`   the page complained: ${complaint}`);
    console.log('\n| step | clicks | fields | seconds |\n|---|---|---|---|');
    for (const s of walked.steps)
      console.log(`| ${s.step} | ${s.clicks} | ${s.fields} | ${s.seconds.toFixed(1)} |`);
    const sum = (of: 'clicks' | 'fields' | 'seconds') => walked.steps.reduce((n, s) => n + s[of], 0);
    console.log(`| all | ${sum('clicks')} | ${sum('fields')} | ${sum('seconds').toFixed(1)} |`);
  }
} finally {
  await closeBrowser();
  page.remove();
}
process.exitCode = wrong > 0 ? 1 : 0;
