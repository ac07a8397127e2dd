import "uplot/dist/uPlot.min.css";
import "./capture/capture.css";
import { takeDroppedFiles } from "./capture/drop";
import { Viewer } from "./capture/viewer";

let viewer: Viewer | undefined;

function begin(): void {
  takeDroppedFiles();
  const place = document.getElementById("viewer");
  if (place && !place.dataset["drawn"]) {
    place.dataset["drawn"] = "yes";
    viewer = new Viewer(place);
  }
  // What was found may come later than the signal.
  const found = document.getElementById("found")?.dataset["found"];
  if (viewer && found) viewer.learn(found);
}

begin();
document.addEventListener("htmx:load", begin);
