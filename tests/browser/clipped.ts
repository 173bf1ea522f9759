/** What a browser is asked for when nothing may be cut off, on the page as on the sheet. */

/** Texts that are cut off by the screen's side or by something that does not scroll; two things scroll sideways. */
export const CLIPPED = `(() => {
  const cut = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (node.data.trim() === '') continue;
    const own = node.parentElement;
    if (!own.checkVisibility({ checkVisibilityCSS: true, checkOpacity: true })) continue;
    if (getComputedStyle(own).textOverflow === 'ellipsis') continue; // shortened where a click shows it whole
    if (own.closest('.unseen, thead, option, svg, canvas, .more ul, progress, script, style')) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const r of range.getClientRects()) {
      if (r.width === 0) continue;
      if ((r.right > innerWidth + 1 || r.left < -1) && !own.closest('.timebar, .scrolls')) cut.push('off the screen: ' + node.data);
      for (let box = own; box; box = box.parentElement) {
        const style = getComputedStyle(box);
        const b = box.getBoundingClientRect();
        if (/auto|scroll/.test(style.overflowY + style.overflowX)) break;
        if (style.overflowX === 'visible' && !/paint|strict|content/.test(style.contain)) continue;
        if (r.right > b.right + 2 || r.bottom > b.bottom + 3 || r.left < b.left - 2 || r.top < b.top - 3)
          cut.push('in ' + box.className + ': ' + node.data);
      }
    }
  }
  return [...new Set(cut)];
})()`;

/** Of drawings: labels that leave them, which is where they are cut. */
export const CLIPPED_LABELS = `[...document.querySelectorAll('svg text')].flatMap((label) => {
  const box = label.ownerSVGElement.getBoundingClientRect();
  const r = label.getBoundingClientRect();
  return r.left < box.left - 1 || r.right > box.right + 1 || r.top < box.top - 2 || r.bottom > box.bottom + 2 ? [label.textContent] : [];
})`;
