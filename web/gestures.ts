/** Zooming and panning the strips by wheel and finger. */
import type uPlot from 'uplot';
import { pan, zoom } from './state.ts';

/** Wheel zooms about the pointer, sideways wheel and one finger pan. uPlot itself sees only the mouse. */
export function gestures(root: HTMLElement, chart: () => uPlot): () => void {
  const width = () => chart().bbox.width / devicePixelRatio;
  const wheel = (e: WheelEvent) => {
    e.preventDefault();
    if (Math.abs(e.deltaX) > Math.abs(e.deltaY)) return pan(e.deltaX / width());
    const left = e.clientX - chart().over.getBoundingClientRect().left;
    zoom(e.deltaY > 0 ? 1.25 : 0.8, chart().posToVal(left, 'x'));
  };
  let finger: { id: number; x: number } | null = null;
  const down = (e: PointerEvent) => {
    if (e.pointerType === 'touch') finger = { id: e.pointerId, x: e.clientX };
  };
  const move = (e: PointerEvent) => {
    if (finger?.id !== e.pointerId || Math.abs(e.clientX - finger.x) < 4) return;
    pan((finger.x - e.clientX) / width());
    finger.x = e.clientX;
  };
  const up = () => {
    finger = null;
  };
  root.addEventListener('wheel', wheel, { passive: false });
  root.addEventListener('pointerdown', down);
  root.addEventListener('pointermove', move);
  root.addEventListener('pointerup', up);
  root.addEventListener('pointercancel', up);
  return () => {
    root.removeEventListener('wheel', wheel);
    root.removeEventListener('pointerdown', down);
    root.removeEventListener('pointermove', move);
    root.removeEventListener('pointerup', up);
    root.removeEventListener('pointercancel', up);
  };
}
