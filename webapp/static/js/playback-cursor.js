// A cursor runs along the plots while the recording plays; touching a plot or moving the slider seeks.
// The plots say themselves where time lies on them: data-time has from and to in seconds, then left
// and right on the drawing; data-height has top and bottom.

const SVG = "http://www.w3.org/2000/svg";

function readPlot(svg) {
  const [from, to, left, right] = svg.dataset.time.split(" ").map(Number);
  const [top, bottom] = svg.dataset.height.split(" ").map(Number);
  const cursor = document.createElementNS(SVG, "line");
  for (const [name, value] of Object.entries({ y1: top, y2: bottom, class: "cursor" })) {
    cursor.setAttribute(name, value);
  }
  svg.append(cursor);
  return {
    svg,
    show(time) {
      const x = left + ((time - from) / (to - from)) * (right - left);
      cursor.setAttribute("x1", x);
      cursor.setAttribute("x2", x);
      cursor.toggleAttribute("hidden", time < from || time > to);
      cursor.setAttribute("visibility", time < from || time > to ? "hidden" : "visible");
    },
    timeAt(event) {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      const share = (point.x - left) / (right - left);
      return from + Math.min(1, Math.max(0, share)) * (to - from);
    },
  };
}

function listen(area) {
  const audio = area.querySelector("audio");
  const place = area.querySelector("[data-playback-place]");
  const slider = place?.querySelector("input");
  const plots = [...area.querySelectorAll("[data-playback-plot] svg[data-time]")].map(readPlot);
  if (!audio || !slider) return;
  area.classList.add("is-seekable");
  place.hidden = false;

  function show(time) {
    for (const plot of plots) plot.show(time);
    slider.value = time;
    slider.setAttribute("aria-valuetext", `${Number(time).toFixed(2)} seconds`);
  }

  function seek(time) {
    show(time);
    if (audio.readyState > 0) audio.currentTime = time;
    else {
      // Nothing is loaded before somebody listens; then the place is taken as soon as it can be.
      audio.addEventListener("loadedmetadata", () => { audio.currentTime = time; }, { once: true });
      audio.load();
      audio.preload = "metadata";
    }
  }

  function follow() {
    show(audio.currentTime);
    if (!audio.paused && !audio.ended) requestAnimationFrame(follow);
  }

  audio.addEventListener("play", follow);
  audio.addEventListener("seeked", () => show(audio.currentTime));
  audio.addEventListener("pause", () => show(audio.currentTime));
  slider.addEventListener("input", () => seek(Number(slider.value)));
  for (const plot of plots) plot.svg.addEventListener("click", (event) => seek(plot.timeAt(event)));
  show(0);
}

for (const area of document.querySelectorAll("[data-playback]")) listen(area);
