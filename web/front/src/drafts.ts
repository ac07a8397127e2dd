/** What is typed stays in the browser until the server has noted it: a reload, a crash or a stopped server loses nothing. */

const fields = "input[type=text], input[type=search], textarea, input[type=checkbox]";

function place(form: HTMLFormElement): string {
  return `draft ${location.pathname} ${form.dataset["draft"] ?? ""}`;
}

function kept(form: HTMLFormElement): Record<string, string> {
  try {
    return JSON.parse(localStorage.getItem(place(form)) ?? "{}") as Record<string, string>;
  } catch {
    return {};
  }
}

function typed(form: HTMLFormElement): Record<string, string> {
  const found: Record<string, string> = {};
  for (const field of form.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>(fields)) {
    const value = field.type === "checkbox" ? ((field as HTMLInputElement).checked ? "yes" : "") : field.value;
    if (value) found[field.name] = value;
  }
  return found;
}

function keep(form: HTMLFormElement): void {
  const found = typed(form);
  if (Object.keys(found).length > 0) localStorage.setItem(place(form), JSON.stringify(found));
  else localStorage.removeItem(place(form));
}

function restore(form: HTMLFormElement): void {
  const found = kept(form);
  for (const field of form.querySelectorAll<HTMLInputElement | HTMLTextAreaElement>(fields)) {
    const value = found[field.name];
    if (value === undefined) continue;
    if (field.type === "checkbox") (field as HTMLInputElement).checked = true;
    else if (!field.value) field.value = value;
    field.closest("details")?.setAttribute("open", "");
  }
}

const drafted = (target: EventTarget | null): HTMLFormElement | null =>
  target instanceof Element ? target.closest<HTMLFormElement>("form[data-draft]") : null;

/** Puts drafts back into the forms of a part of the page. */
export function restoreDrafts(part: ParentNode): void {
  part.querySelectorAll<HTMLFormElement>("form[data-draft]").forEach(restore);
}

/** Forgets the draft of a form that the server has noted. */
export function forgetDraft(form: Element): void {
  if (form instanceof HTMLFormElement && form.dataset["draft"]) localStorage.removeItem(place(form));
}

document.addEventListener("input", (event) => {
  const form = drafted(event.target);
  if (form) keep(form);
});
