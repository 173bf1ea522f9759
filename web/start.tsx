/** The dialogue in front of a recording: what it is for, which car, and the cautions. */
import { useEffect, useRef } from 'preact/hooks';
import type { RunState, StartRunRequest } from '../src/desk/api.ts';
import { post } from './http.ts';
import { attempt, follow, go, startOpen } from './state.ts';

const CAUTIONS = [
  'Never operate the laptop while driving: a second person does, or sound only.',
  'Obey speed limits and local rules on screens in cars. Full-load pulls only where they are legal and safe.',
  'Stop when the coolant alarm sounds. Never open a hot cooling system.',
  'Keep hands, hair and cables clear of belts and fans; fans can start by themselves.',
  'Exhaust gas kills in closed rooms.',
];

export function StartDialog() {
  const dialog = useRef<HTMLDialogElement>(null);
  useEffect(() => {
    if (startOpen.value) dialog.current?.showModal();
    else dialog.current?.close();
  }, [startOpen.value]);
  const submit = async (e: SubmitEvent) => {
    e.preventDefault();
    const form = new FormData(e.currentTarget as HTMLFormElement);
    const text = (name: string) => String(form.get(name) ?? '').trim();
    const profile = {
      ...(text('induction') ? { induction: text('induction') } : {}),
      ...(text('fuel') ? { fuel: text('fuel') } : {}),
    };
    const request: StartRunRequest = {
      purpose: text('purpose') as StartRunRequest['purpose'],
      ...(text('vehicle') ? { vehicle: text('vehicle') } : {}),
      ...(text('complaint') ? { complaint: text('complaint') } : {}),
      ...(Object.keys(profile).length > 0 ? { profile } : {}),
    };
    const started = await attempt(async () => void (await post<RunState>('/api/run', request)));
    startOpen.value = false;
    if (started) {
      follow();
      go('drive');
    }
  };
  return (
    <dialog ref={dialog} aria-labelledby="start-h" onClose={() => (startOpen.value = false)}>
      <h2 id="start-h">Start recording</h2>
      <form onSubmit={submit} class="fields">
        <label>
          What for
          <select name="purpose">
            <option value="verification">verification, after the repair</option>
            <option value="baseline">baseline, before the repair</option>
            <option value="other">other</option>
          </select>
        </label>
        <label>
          Vehicle
          <input name="vehicle" maxLength={200} autocomplete="off" />
        </label>
        <EngineAndComplaint />
        <Cautions />
        <p class="actions wide">
          <button type="submit" class="main">
            Start recording
          </button>
          <button type="button" onClick={() => (startOpen.value = false)}>
            Not yet
          </button>
        </p>
      </form>
    </dialog>
  );
}

export function Cautions() {
  return (
    <div class="wide cautions">
      <h3>Before you drive</h3>
      <ul>
        {CAUTIONS.map((c) => (
          <li key={c}>{c}</li>
        ))}
      </ul>
    </div>
  );
}

export const INDUCTIONS = ['naturally aspirated', 'turbocharger', 'supercharger', 'twin-charged'];
export const FUELS = ['petrol', 'diesel'];

/** What is asked of every car, in a form that reads its fields by name. */
export function EngineAndComplaint() {
  return (
    <>
      <label>
        Induction
        <select name="induction">
          <Options of={INDUCTIONS} />
        </select>
      </label>
      <label>
        Fuel
        <select name="fuel">
          <Options of={FUELS} />
        </select>
      </label>
      <label class="wide">
        Complaint, in the customer's words
        <textarea name="complaint" rows={2} maxLength={4000} />
      </label>
    </>
  );
}

/** Of a choice that may stay open. */
export function Options({ of }: { of: readonly string[] }) {
  return (
    <>
      <option value="">not known</option>
      {of.map((text) => (
        <option key={text}>{text}</option>
      ))}
    </>
  );
}
