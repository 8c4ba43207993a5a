// How far the reading is, until it's done.
const far = document.getElementById("far");
async function look() {
  const got = await fetch(location.pathname, { headers: { accept: "application/json" } });
  if (!got.ok) return;
  const { done, total, ended } = await got.json();
  if (ended) return location.reload();
  if (total) far.textContent = `${done} of ${total} messages read.`;
  setTimeout(look, 700);
}
setTimeout(look, 700);
