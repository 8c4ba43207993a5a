// A sheet is typed in as it stands on paper: Enter goes on, a row is saved as it is left.
const paper = document.querySelector("form.paper");
const rows = [...paper.querySelectorAll("tbody tr")];
const domains = paper.dataset.domains.split(" ");
const part = (row, name) => row.querySelector(`[name^="${name}-"]`);
const boxes = (row) => [...row.querySelectorAll("[type=checkbox]")];
const stops = (row) => [part(row, "name"), part(row, "address"), boxes(row)[0]];
const print = (row) => JSON.stringify([part(row, "name").value, part(row, "address").value, boxes(row).map((box) => box.checked)]);
const isEmpty = (row) => !part(row, "name").value.trim() && !part(row, "address").value.trim() && !part(row, "unreadable").checked;
const isOpen = (row) => row.was !== print(row) && !(isEmpty(row) && !part(row, "before").value);
let line = Promise.resolve();

for (const row of rows) {
  row.was = print(row);
  boxes(row).forEach((box, place) => { box.tabIndex = place ? -1 : 0; });
}
document.querySelector(".scripted").hidden = false;
if (!location.hash && !document.getElementById("fault")) {
  const first = rows.find((row) => isEmpty(row) && !row.classList.contains("done"));
  if (first) part(first, "name").focus();
}

function fields(row, more) {
  const sent = new FormData();
  for (const name of ["mark", "on", "a_page"]) sent.set(name, paper.elements[name].value);
  for (const one of row.querySelectorAll("input")) if (one.type !== "checkbox" || one.checked) sent.append(one.name, one.value);
  for (const [name, value] of Object.entries(more)) sent.set(name, value);
  return sent;
}

async function ask(row, more) {
  const got = await fetch(paper.action, { method: "POST", body: fields(row, more), headers: { accept: "application/json" }, keepalive: true });
  if (!got.ok) throw new Error((await got.text()).match(/role="alert">(.*?)<\/div>/s)?.[1].replace(/<[^>]+>/g, " ") || "not saved");
  return got.json();
}

function say(row, said, better) {
  const state = row.querySelector(".state");
  state.querySelector("span").textContent = said;
  state.querySelectorAll("button").forEach((one) => one.remove());
  const wrong = Boolean(said) && !row.classList.contains("done");
  part(row, "address").setAttribute("aria-invalid", wrong);
  part(row, "address").setAttribute("aria-describedby", state.id);
  if (!better) return;
  const answers = [[`Take ${better}`, () => { part(row, "address").value = better; save(row); }], ["It is as written", () => save(row, { [`keep-${row.id.slice(4)}`]: "yes" })]];
  for (const [words, then] of answers) {
    const button = Object.assign(document.createElement("button"), { type: "button", className: "quiet", textContent: words });
    button.addEventListener("click", () => { then(); (following(row) || row).querySelector("input").focus(); });
    state.append(button);
  }
}

// Saved one after the other; what can't be saved is said and stays open.
function save(row, more = {}) {
  const typed = print(row);
  line = line.then(() => ask(row, more)).then((answer) => {
    const [came] = answer.rows;
    if (!came) return;
    const isDone = !["not taken", "to be looked at"].includes(came.is);
    row.classList.toggle("done", isDone);
    if (isDone) { row.was = typed; part(row, "before").value = came.is === "on the list" ? JSON.parse(typed)[1].trim() : ""; }
    say(row, came.said, came.better);
    document.getElementById("counted").textContent = answer.counted;
    row.failed = false;
  }).catch((fault) => { row.failed = true; say(row, `${fault.message}; look whether the desk is still open`); });
}

const following = (row, by = 1) => rows[rows.indexOf(row) + by];

function goTo(row, stop) {
  if (row) stops(row)[stop].focus();
  else paper.querySelector("a.next").focus();
}

// An end that is frequent on the list is offered as long as no point is typed: nothing whole is ever changed.
function complete(field) {
  const typed = field.value, end = typed.match(/^[^@\s]+@([^@.\s]+)$/);
  const whole = end && field.selectionStart === typed.length && domains.find((one) => one.startsWith(end[1].toLowerCase()));
  if (!whole) return;
  field.value = typed + whole.slice(end[1].length);
  field.setSelectionRange(typed.length, field.value.length);
}

let wait = 0;
paper.addEventListener("input", (typed) => {
  const row = typed.target.closest("tbody tr");
  if (!row) return;
  row.classList.remove("done");
  if (!typed.target.name.startsWith("address-")) return;
  if (typed.inputType === "insertText") complete(typed.target);
  clearTimeout(wait);
  if (/\S@\S+\.\S\S/.test(typed.target.value)) wait = setTimeout(() => look(row), 500);
  else say(row, "");
});

async function look(row) {
  const typed = print(row);
  const answer = await ask(row, { look: "yes" }).catch(() => null);
  if (answer?.rows[0] && typed === print(row) && isOpen(row)) say(row, answer.rows[0].said === "on the list" ? "" : answer.rows[0].said);
}

paper.addEventListener("keydown", (pressed) => {
  const at = pressed.target, row = at.closest("tbody tr");
  if (!row || at.tagName !== "INPUT" || pressed.ctrlKey || pressed.metaKey || pressed.altKey) return;
  const box = at.type === "checkbox", stop = box ? 2 : stops(row).indexOf(at), key = pressed.key;
  if (key === "Enter") {
    const skips = stop === 0 && at.value.trim() === "?";
    if (skips) { at.value = ""; part(row, "unreadable").checked = true; }
    goTo(skips || box ? following(row) : row, skips || box ? 0 : stop + 1);
  } else if (key === "ArrowDown" || key === "ArrowUp") goTo(following(row, key === "ArrowDown" ? 1 : -1) || row, stop);
  else if (box && (key === "ArrowRight" || key === "ArrowLeft")) boxes(row)[boxes(row).indexOf(at) + (key === "ArrowRight" ? 1 : -1)]?.focus();
  else if (box && (key === "?" || (key >= "1" && key < String(boxes(row).length)))) {
    (key === "?" ? part(row, "unreadable") : boxes(row)[key - 1]).click();
    at.focus();
  } else return;
  pressed.preventDefault();
});

paper.addEventListener("focusout", (left) => {
  const row = left.target.closest("tbody tr");
  if (row && !row.contains(left.relatedTarget) && isOpen(row)) { clearTimeout(wait); save(row); }
});
addEventListener("pagehide", () => rows.filter(isOpen).forEach((row) => ask(row, {})));
addEventListener("beforeunload", (leaving) => { if (rows.some((row) => isOpen(row) && (row.failed || row.querySelector(".state button")))) leaving.preventDefault(); });
