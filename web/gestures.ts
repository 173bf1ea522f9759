/** Zooming and panning the strips by wheel and finger. */
import type uPlot from 'uplot';
import { pan, readBack, win, zoom } from './state.ts';

/** Wheel zooms about the pointer, sideways wheel and one finger pan, two pinch. uPlot itself sees only the mouse. */
export function gestures(root: HTMLElement, chart: () => uPlot): () => void {
  const width = () => chart().bbox.width / devicePixelRatio;
  const at = (clientX: number) => chart().posToVal(clientX - chart().over.getBoundingClientRect().left, 'x');
  const wheel = (e: WheelEvent) => {
    // All of a run is seen: there is nothing further out, so the page scrolls on.
    if (readBack.peek() && win.peek().follow && (e.deltaY > 0 || Math.abs(e.deltaX) > Math.abs(e.deltaY)))
      return;
    e.preventDefault();
    if (Math.abs(e.deltaX) > Math.abs(e.deltaY)) return pan(e.deltaX / width());
    zoom(e.deltaY > 0 ? 1.25 : 0.8, at(e.clientX));
  };
  const fingers = new Map<number, number>();
  const down = (e: PointerEvent) => {
    if (e.pointerType === 'touch') fingers.set(e.pointerId, e.clientX);
  };
  const move = (e: PointerEvent) => {
    const was = fingers.get(e.pointerId);
    if (was === undefined || Math.abs(e.clientX - was) < 4) return;
    const other = [...fingers].find(([id]) => id !== e.pointerId)?.[1];
    if (other === undefined) pan((was - e.clientX) / width());
    else zoom(Math.max(20, Math.abs(was - other)) / Math.max(20, Math.abs(e.clientX - other)), at(other));
    fingers.set(e.pointerId, e.clientX);
  };
  const up = (e: PointerEvent) => {
    fingers.delete(e.pointerId);
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
