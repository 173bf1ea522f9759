/** Marks of a run: to be looked at, worded and taken out afterwards. The recording keeps what was pressed and when. */
import { useSignal } from '@preact/signals';
import type { MarkEdit, MarkView } from '../src/desk/api.ts';
import { post } from './http.ts';
import { attempt, readOnly, sayUndo } from './state.ts';
import { markShown, t } from './words.ts';

interface Props {
  readonly marks: readonly MarkView[];
  readonly runId: string;
  readonly show: (tS: number) => void;
  /** Told of each edit that was kept. The run being recorded tells by itself. */
  readonly edited?: (edit: MarkEdit) => void;
}

export function MarkList({ marks, runId, show, edited }: Props) {
  if (marks.length === 0) return null;
  const edit = (change: MarkEdit) =>
    attempt(async () => {
      await post(`/api/runs/${encodeURIComponent(runId)}/marks`, change);
      edited?.(change);
    });
  return (
    <section class="mark-list" aria-labelledby="marks-h">
      <h2 id="marks-h">{t('marks.title')}</h2>
      <ul>
        {marks.map((m) => (
          <One key={`${m.tS} ${m.key}`} mark={m} show={show} edit={edit} />
        ))}
      </ul>
    </section>
  );
}

function One({
  mark: m,
  show,
  edit,
}: {
  mark: MarkView;
  show: Props['show'];
  edit: (change: MarkEdit) => Promise<boolean>;
}) {
  const editing = useSignal(false);
  const { tS, key } = m;
  const save = async (e: SubmitEvent) => {
    e.preventDefault();
    const text = String(new FormData(e.currentTarget as HTMLFormElement).get('text') ?? '').trim();
    if (await edit({ tS, key, text, removed: false })) editing.value = false;
  };
  const remove = async () => {
    const { text } = m;
    if (await edit({ tS, key, text, removed: true }))
      sayUndo(
        t('marks.out', { what: markShown(text) || key, at: tS }),
        () => void edit({ tS, key, text, removed: false }),
      );
  };
  const whole = t('marks.at', { text: markShown(m.text), at: tS });
  if (editing.value)
    return (
      <li>
        <form onSubmit={save}>
          <input name="text" aria-label={t('marks.words', { at: tS })} maxLength={500} value={m.text} />
          <button type="submit">{t('marks.keep')}</button>
          <button type="button" onClick={() => (editing.value = false)}>
            {t('marks.leave')}
          </button>
        </form>
      </li>
    );
  return (
    <li>
      <button type="button" class="where" onClick={() => show(tS)}>
        <kbd>{key}</kbd> {whole}
      </button>
      {!readOnly.value && (
        <>
          <button type="button" onClick={() => (editing.value = true)}>
            {t('marks.edit')} <span class="unseen">{whole}</span>
          </button>
          <button type="button" onClick={remove}>
            {t('marks.take-out')} <span class="unseen">{whole}</span>
          </button>
        </>
      )}
    </li>
  );
}
