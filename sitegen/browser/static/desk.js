// Where a page was asked to say something, it is read first.
for (const id of ["fault", "said"]) {
  const said = document.getElementById(id);
  if (said && (id === "fault" || location.hash === "#said")) { said.focus(); break; }
}
// A form is sent once, however often its button is pressed.
addEventListener("submit", (sent) => {
  if (sent.target.dataset.sent) sent.preventDefault();
  sent.target.dataset.sent = "yes";
});
addEventListener("pageshow", () => document.querySelectorAll("form").forEach((form) => delete form.dataset.sent));
