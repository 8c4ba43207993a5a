// Photos: seen before they are sent, dropped anywhere; the spot to look at pressed; the page seen while it is written.
const image = (file) => /^image\/(?!hei[cf])/.test(file.type);
for (const form of document.querySelectorAll("form.drop")) {
  const input = form.querySelector("input[type=file]"), strip = form.querySelector(".strip");
  const show = () => {
    strip.replaceChildren(...[...input.files].map((file) => {
      const item = document.createElement("li");
      if (image(file)) {
        const seen = new Image();
        seen.src = URL.createObjectURL(file); seen.alt = "";
        item.append(seen);
      }
      item.append(file.name);
      return item;
    }));
  };
  input.addEventListener("change", show);
  addEventListener("dragover", (over) => over.preventDefault());
  addEventListener("drop", (dropped) => {
    dropped.preventDefault();
    const all = new DataTransfer();
    for (const file of [...input.files, ...dropped.dataTransfer.files]) all.items.add(file);
    input.files = all.files;
    show();
  });
}
for (const spot of document.querySelectorAll(".spot")) {
  const field = spot.parentElement.querySelector("input[name$='.focus']"), seen = spot.querySelector("img");
  const mark = document.createElement("span");
  spot.append(mark);
  const put = () => {
    const [across, down] = field.value.split(",").map(Number);
    mark.hidden = !(across >= 0 && down >= 0 && field.value);
    mark.style.left = `${across * 100}%`; mark.style.top = `${down * 100}%`;
  };
  seen.addEventListener("click", (at) => {
    field.value = `${(at.offsetX / seen.clientWidth).toFixed(2)}, ${(at.offsetY / seen.clientHeight).toFixed(2)}`;
    put();
  });
  field.addEventListener("input", put);
  put();
}
const written = document.getElementById("as-written"), story = document.querySelector("textarea[name=story]");
if (written && story) {
  let waiting;
  story.addEventListener("input", () => {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      const answer = await fetch(written.dataset.ask, { method: "POST", body: new FormData(story.form) });
      const said = await answer.json();
      if (said.seen) written.src = `${said.seen}?${Date.now()}`;
    }, 400);
  });
}
for (const clock of document.querySelectorAll("time.clock")) {
  const since = new Date(clock.dateTime), first = clock.textContent;
  const tell = () => {
    const minutes = Math.floor((Date.now() - since) / 60000);
    if (minutes >= 0 && minutes < 1440) clock.textContent = `${first} (${Math.floor(minutes / 60)} h ${minutes % 60} min)`;
  };
  tell(); setInterval(tell, 20000);
}
