/** A form whose fields are read when it is sent: what is typed into it meanwhile is kept as a draft. */
import type { RefObject } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import { draftOf, dropDraft, keepDraft } from './drafts.ts';

interface FormDraft {
  readonly form: RefObject<HTMLFormElement | null>;
  /** To be called as something is typed. */
  keep(): void;
  /** What stands in it now, as one text. */
  text(): string;
  /** It was sent as `sent`: fields that are still as they were are emptied, but for those of `stay`. */
  used(sent: string, stay?: readonly string[]): void;
}

type Typed = HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement;

/** Drafts of tabs that are gone must have been taken over before the form is shown. */
export function useFormDraft(page: string, field: string): FormDraft {
  const form = useRef<HTMLFormElement>(null);
  const fieldOf = (name: string): Typed | null => {
    const found = form.current?.elements.namedItem(name);
    return found instanceof HTMLElement && 'value' in found ? (found as Typed) : null;
  };
  const text = (): string => {
    const all = form.current ? [...new FormData(form.current)] : [];
    const typed = all.flatMap(([name, v]) => (typeof v === 'string' && v !== '' ? [[name, v]] : []));
    return new URLSearchParams(typed).toString();
  };
  const keep = () => {
    const now = text();
    if (now === '') dropDraft(page, field);
    else keepDraft(page, field, { text: now, was: null });
  };
  useEffect(() => {
    const kept = new URLSearchParams(draftOf(page, field)?.text);
    if (kept.size === 0) return;
    // What is chosen decides which other fields there are: those come a moment later.
    const fill = () => {
      for (const [name, v] of kept) {
        const found = fieldOf(name);
        if (found) found.value = v;
      }
    };
    fill();
    form.current?.dispatchEvent(new Event('input', { bubbles: true }));
    setTimeout(() => {
      fill();
      keep();
    }, 0);
  }, []);
  return {
    form,
    keep,
    text,
    used: (sent, stay = []) => {
      for (const [name, v] of new URLSearchParams(sent)) {
        const found = fieldOf(name);
        if (found && found.value === v && !stay.includes(name)) found.value = '';
      }
      keep();
    },
  };
}
