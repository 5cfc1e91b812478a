/** Bring the field of a place in the document into sight and into hand. */

export function focusPointer(pointer: string): boolean {
  for (let at = pointer; at; at = at.slice(0, at.lastIndexOf("/"))) {
    const found = document.querySelector<HTMLElement>(`[data-pointer="${CSS.escape(at)}"]`);
    if (!found) continue;
    for (let fold = found.closest("details"); fold; fold = fold.parentElement?.closest("details") ?? null)
      fold.open = true;
    if (found instanceof HTMLDetailsElement) found.open = true;
    const inner =
      found.querySelector<HTMLElement>("input, select, textarea") ??
      found.querySelector<HTMLElement>("button, summary") ??
      found;
    found.scrollIntoView({ block: "nearest" });
    inner.focus();
    return true;
  }
  return false;
}
