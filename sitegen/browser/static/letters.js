// A letter that goes out is counted while one looks on; the page is read anew when it has ended.
const posting = document.getElementById("posting");
const look = async () => {
  try {
    const now = await (await fetch(posting.dataset.ask)).json();
    if (now.ended) { location.replace(location.pathname); return; }
    document.getElementById("count").textContent = `${now.done} of ${now.total}`;
    const waits = document.getElementById("waits");
    if (waits.textContent !== now.waits) waits.textContent = now.waits;
    const far = document.getElementById("far");
    far.max = now.total || 1; far.value = now.done;
  } catch { /* the desk is closed; what stands here was the last word */ }
  setTimeout(look, 1000);
};
look();
