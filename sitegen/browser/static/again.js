// Shows the site anew when it was built anew.
const shown = document.currentScript.dataset.version;
setInterval(async () => {
  try {
    const now = await (await fetch("/-/version")).text();
    if (now !== shown) location.reload();
  } catch { /* the preview has been stopped */ }
}, 700);
