// @ts-check
// A cursor runs along the plots while the recording plays; touching a plot or moving the slider seeks.
// The plots say themselves where time lies on them: data-time has from and to in seconds, then left
// and right on the drawing; data-height has top and bottom.

import { findAll, findOptional, makeSvg, setAttributes, show as showElement } from "./dom.js";

/** @param {SVGElement} svg @param {string} name of what it says of itself, in numbers */
function readNumbers(svg, name) {
  return (svg.dataset[name] ?? "").split(" ").map(Number);
}

/** @param {SVGGraphicsElement} svg */
function readPlot(svg) {
  const [from, to, left, right] = readNumbers(svg, "time");
  const [top, bottom] = readNumbers(svg, "height");
  const cursor = makeSvg("line", { y1: top, y2: bottom, class: "cursor" }, svg);
  return {
    svg,
    /** @param {number} time */
    show(time) {
      const x = left + ((time - from) / (to - from)) * (right - left);
      const isWithin = time >= from && time <= to;
      setAttributes(cursor, { x1: x, x2: x, visibility: isWithin ? "visible" : "hidden" });
      showElement(cursor, isWithin);
    },
    /** @param {MouseEvent} event */
    timeAt(event) {
      const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM()?.inverse());
      const share = (point.x - left) / (right - left);
      return from + Math.min(1, Math.max(0, share)) * (to - from);
    },
  };
}

/** @param {HTMLElement} area */
function followPlayback(area) {
  const audio = findOptional(area, "audio", HTMLAudioElement);
  const place = findOptional(area, "[data-playback-place]");
  const slider = findOptional(area, "[data-playback-place] input", HTMLInputElement);
  const plots = findAll(area, "[data-playback-plot] svg[data-time]", SVGGraphicsElement).map(readPlot);
  if (audio && place && slider) connect(area, { audio, place, slider, plots });
}

/**
 * @param {HTMLElement} area
 * @param {{audio: HTMLAudioElement, place: HTMLElement, slider: HTMLInputElement,
 *   plots: ReturnType<typeof readPlot>[]}} parts
 */
function connect(area, { audio, place, slider, plots }) {
  area.classList.add("is-seekable");
  showElement(place);

  /** @param {number} time */
  function show(time) {
    for (const plot of plots) plot.show(time);
    slider.value = String(time);
    slider.setAttribute("aria-valuetext", `${time.toFixed(2)} seconds`);
  }

  /** Where to go as soon as there is a recording to go through. @type {number | null} */
  let wanted = null;

  /** @param {number} time */
  function seek(time) {
    show(time);
    if (audio.readyState > 0) {
      audio.currentTime = time;
      wanted = null; // it may be known that there is a recording before that is told
    } else {
      if (wanted === null) load();
      wanted = time;
    }
  }

  /** Nothing is loaded before somebody listens; then the place last asked for is taken. */
  function load() {
    audio.addEventListener("loadedmetadata", () => {
      if (wanted !== null) audio.currentTime = wanted;
      wanted = null;
    }, { once: true });
    audio.load();
    audio.preload = "metadata";
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

for (const area of findAll(document, "[data-playback]")) followPlayback(area);
