/** Exchanges with the server: forms are sent and parts of the page replaced without loading it anew. */
import htmx from "htmx.org";
import { forgetDraft, restoreDrafts } from "./drafts";

htmx.config.includeIndicatorStyles = false; // the content policy allows no style but the page's own file
htmx.config.allowEval = false;
htmx.config.historyCacheSize = 0; // going back asks the server: a case may have gone on meanwhile
htmx.config.refreshOnHistoryMiss = true;
htmx.config.defaultSettleDelay = 0; // nothing here is animated in
htmx.config.timeout = 20_000;
// What the server refuses comes back as a page that says why, with everything that was typed.
htmx.config.responseHandling = [
  { code: "204", swap: false },
  { code: "[23]..", swap: true },
  { code: "(409|413|422)", swap: true, error: false },
  { code: "...", swap: false, error: true },
];

interface Exchange extends Event {
  // `elt` of the event may be what took the form's place; the request knows which form it came from.
  detail: { xhr: XMLHttpRequest; requestConfig: { verb: string; elt: Element } };
}

const posted = (event: Event): boolean => (event as Exchange).detail.requestConfig?.verb === "post";

/** Says in the page's own words that the server did not take an entry. */
function tell(id: string): void {
  const place = document.getElementById("told");
  const words = document.querySelector<HTMLTemplateElement>(`template#${id}`);
  if (place && words) place.replaceChildren(words.content.cloneNode(true));
}

/** The reading field where there is a keyboard; else the head of what is next, so that no screen keyboard hides it. */
function focusNext(): void {
  const keyboard = matchMedia("(hover: hover) and (pointer: fine)").matches;
  const wrong = document.querySelector<HTMLElement>("[aria-invalid=true]");
  const field = keyboard ? document.querySelector<HTMLElement>("[data-focus]") : null;
  (wrong ?? field ?? document.getElementById("next-title") ?? document.getElementById("main"))?.focus({
    preventScroll: true,
  });
}

// Before the new page is put in: what is put in gets the drafts that are left.
document.addEventListener("htmx:beforeSwap", (event) => {
  const { requestConfig, xhr } = (event as Exchange).detail;
  if (!posted(event)) return;
  document.getElementById("told")?.replaceChildren();
  if (xhr.status >= 200 && xhr.status < 300) forgetDraft(requestConfig.elt);
});
document.addEventListener("htmx:sendError", (event) => posted(event) && tell("not-answered"));
document.addEventListener("htmx:timeout", (event) => posted(event) && tell("not-answered"));
document.addEventListener("htmx:responseError", (event) => posted(event) && tell("not-noted"));
document.addEventListener("htmx:afterSettle", (event) => {
  if (!posted(event)) return;
  restoreDrafts(document);
  focusNext();
});
document.addEventListener("DOMContentLoaded", () => restoreDrafts(document));
if (document.readyState !== "loading") restoreDrafts(document);
