/** Exchanges with the server: forms are sent and parts of the page replaced without loading it anew. */
import htmx from "htmx.org";

htmx.config.includeIndicatorStyles = false; // the content policy allows no style but the page's own file
htmx.config.allowEval = false;
htmx.config.historyCacheSize = 0; // going back asks the server: a case may have gone on meanwhile
htmx.config.refreshOnHistoryMiss = true;
// What the server refuses comes back as a page that says why, with everything that was typed.
htmx.config.responseHandling = [
  { code: "204", swap: false },
  { code: "[23]..", swap: true },
  { code: "(409|413|422)", swap: true, error: false },
  { code: "...", swap: false, error: true },
];
