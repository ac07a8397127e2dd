import "uplot/dist/uPlot.min.css";
import "./capture/capture.css";
import { takeDroppedFiles } from "./capture/drop";
import { Viewer } from "./capture/viewer";

function begin(): void {
  takeDroppedFiles();
  const place = document.getElementById("viewer");
  if (place && !place.dataset["drawn"]) {
    place.dataset["drawn"] = "yes";
    new Viewer(place);
  }
}

begin();
document.addEventListener("htmx:afterSettle", begin);
