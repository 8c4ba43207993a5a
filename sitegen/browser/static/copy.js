// A text is copied by a button; without script it's marked and copied by hand.
for (const button of document.querySelectorAll("button.copy")) {
  const text = document.getElementById(button.dataset.of), said = button.textContent;
  button.hidden = false;
  button.addEventListener("click", async () => {
    text.select();
    try { await navigator.clipboard.writeText(text.value); } catch { document.execCommand("copy"); }
    button.textContent = "Copied";
    setTimeout(() => { button.textContent = said; }, 2500);
  });
}
