/** A file dropped anywhere on the page of captures is sent as if it had been chosen. */
export function takeDroppedFiles(): void {
  const form = document.querySelector<HTMLFormElement>("form.drop");
  const field = form?.querySelector<HTMLInputElement>("input[type=file]");
  if (!form || !field || form.dataset["ready"]) return;
  form.dataset["ready"] = "yes";
  const over = (event: DragEvent): void => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    form.classList.add("over");
  };
  document.addEventListener("dragover", over);
  document.addEventListener("dragleave", () => form.classList.remove("over"));
  document.addEventListener("drop", (event) => {
    if (!event.dataTransfer?.files.length) return;
    event.preventDefault();
    form.classList.remove("over");
    field.files = event.dataTransfer.files;
    form.requestSubmit();
  });
}
