/** The handbook under Help: the road test, what one sees and what to do, cautions, and the file to send. */
import { useSignal } from '@preact/signals';
import { Cautions } from './start.tsx';
import { attempt } from './state.ts';
import { t } from './words.ts';

const STEPS = [1, 2, 3, 4, 5, 6, 7, 8] as const;
const SYMPTOMS = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12] as const;

export function Handbook() {
  return (
    <section aria-labelledby="handbook-h">
      <h3 id="handbook-h">{t('handbook.title')}</h3>
      <details>
        <summary>{t('handbook.guide')}</summary>
        <ol class="steps">
          {STEPS.map((n) => (
            <li key={n}>{t(`handbook.step.${n}`)}</li>
          ))}
        </ol>
      </details>
      <details>
        <summary>{t('handbook.symptoms')}</summary>
        <dl>
          {SYMPTOMS.map((n) => (
            <div key={n}>
              <dt>
                <b>{t(`handbook.see.${n}`)}</b>
              </dt>
              <dd>{t(`handbook.do.${n}`)}</dd>
            </div>
          ))}
        </dl>
      </details>
      <details>
        <summary>{t('start.before')}</summary>
        <Cautions />
      </details>
    </section>
  );
}

/** Shown before it can be saved; nothing is sent from here. */
export function Report() {
  const text = useSignal<string | null>(null);
  const show = () =>
    void attempt(async () => {
      const answer = await fetch('/api/house/report');
      if (!answer.ok) throw new Error(answer.statusText);
      text.value = await answer.text();
    });
  return (
    <section aria-labelledby="report-h">
      <h3 id="report-h">{t('handbook.report')}</h3>
      <p>{t('handbook.report-lead')}</p>
      {text.value === null ? (
        <p class="actions">
          <button type="button" onClick={show}>
            {t('handbook.report-show')}
          </button>
        </p>
      ) : (
        <>
          {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a text that scrolls is reached by the keyboard */}
          {/* biome-ignore lint/a11y/useSemanticElements: the section around it has this heading already */}
          <div class="report" role="region" tabIndex={0} aria-labelledby="report-h">
            {text.value}
          </div>
          <p class="actions">
            <button type="button" onClick={() => save(text.value ?? '')}>
              {t('handbook.report-save')}
            </button>
          </p>
        </>
      )}
    </section>
  );
}

/** Exactly what was shown. */
function save(text: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text], { type: 'application/json' }));
  link.download = `handback-report-${new Date().toISOString().slice(0, 10)}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
