// Where a page was asked to say something, it is read first.
for (const id of ["fault", "said"]) {
  const said = document.getElementById(id);
  if (said && (id === "fault" || location.hash === "#said")) { said.focus(); break; }
}
// A form is sent once, however often its button is pressed; what takes its time shows how far it is.
let counting;
addEventListener("submit", (sent) => {
  const form = sent.target, button = sent.submitter;
  if (form.dataset.sent) { sent.preventDefault(); return; }
  form.dataset.sent = "yes";
  if (form.method === "post" && button) counting = setTimeout(() => count(button), 600);
});
function count(button) {
  const far = document.createElement("output");
  far.className = "far";
  far.textContent = "Working on it; the page goes on by itself.";
  far.append(Object.assign(document.createElement("progress"), { ariaLabel: "How far it is" }));
  button.setAttribute("aria-disabled", "true");
  button.after(far);
  counting = setInterval(async () => {
    const now = await (await fetch("/far")).json().catch(() => ({}));
    if (!now.total) return;
    far.lastChild.max = now.total; far.lastChild.value = now.done;
    far.firstChild.data = `${now.done.toLocaleString("en")} of ${now.total.toLocaleString("en")} are ready.`;
  }, 1000);
}
addEventListener("pageshow", () => {
  clearInterval(counting);
  document.querySelectorAll("form").forEach((form) => delete form.dataset.sent);
  document.querySelectorAll(".far").forEach((far) => { far.previousElementSibling.removeAttribute("aria-disabled"); far.remove(); });
});
