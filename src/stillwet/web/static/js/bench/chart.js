/** Charts: lines and bands by the vendored library, marks and walls drawn over them. */

import uPlot from "/static/vendor/uplot-1.6.32/uPlot.esm.js";
import { ink, make } from "../dom.js";

const HIGH = 360;
const NARROW = 300;
const FONT = "15px serif";

/** Draws anew what stands on the page, by its box: its colours are painted. @type {Map<Element, () => void>} */
const shown = new Map();
const again = () => shown.forEach((draw) => draw());
document.addEventListener("light", again);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", again);

/**
 * A chart with its words for those who do not see it.
 * @param {{label: string, axes: string[], data: (number|null)[][], series: any[], bands?: any[], over: (chart: any, pen: CanvasRenderingContext2D) => void, under?: (chart: any, pen: CanvasRenderingContext2D) => void, least?: number, most?: number, x?: number[]}} wanted
 * @returns {HTMLElement}
 */
export function chart(wanted) {
  const box = make("div", { class: "chart", role: "img", "aria-label": wanted.label });
  let drawn = null;
  const draw = () => {
    const width = Math.max(NARROW, box.clientWidth);
    drawn?.destroy();
    drawn = new uPlot(options(wanted, width), wanted.data, box);
  };
  let last = 0;
  const sized = new ResizeObserver(() => {
    if (!box.isConnected) {
      if (drawn) [sized.disconnect(), drawn.destroy(), shown.delete(box)]; // it gave way to another
      return;
    }
    shown.set(box, draw);
    if (Math.abs(box.clientWidth - last) < 2) return;
    last = box.clientWidth;
    draw();
  });
  sized.observe(box);
  return box;
}

function options(wanted, width) {
  const axis = (label) => ({ label, stroke: ink("--ink"), font: FONT, labelFont: FONT, grid: { stroke: ink("--rule"), width: 0.4 }, ticks: { stroke: ink("--rule") }, size: 60, labelSize: 26 });
  return {
    width,
    height: HIGH,
    legend: { show: false },
    cursor: { show: false },
    scales: { x: { time: false, range: wanted.x ? () => wanted.x : undefined }, y: { range: (_chart, _low, high) => [wanted.least ?? 0, wanted.most ?? (high > 0 ? high * 1.08 : 1)] } },
    axes: wanted.axes.map(axis),
    series: [{}, ...wanted.series.map(serie)],
    bands: (wanted.bands ?? []).map((series) => ({ series, fill: `${ink("--accent")}38` })),
    hooks: { drawAxes: [(one) => clipped(one, wanted.under)], draw: [(one) => clipped(one, wanted.over)] },
  };
}

function serie({ width = 2, dash, colour = "--ink" }) {
  return { stroke: ink(colour), width, dash, points: { show: false }, spanGaps: false };
}

function clipped(one, work) {
  if (!work) return;
  const { left, top, width, height } = one.bbox;
  const pen = one.ctx;
  pen.save();
  pen.beginPath();
  pen.rect(left, top, width, height);
  pen.clip();
  work(one, pen);
  pen.restore();
}

/** A line across or upright with its word. @param {any} one @param {CanvasRenderingContext2D} pen @param {{x?: number, y?: number, word?: string, dash?: number[], width?: number, colour?: string, row?: number}} wall */
export function wall(one, pen, { x, y, word = "", dash = [], width = 2, colour = "--ink", row = 0 }) {
  const scale = devicePixelRatio;
  const { left, top, width: wide, height } = one.bbox;
  pen.strokeStyle = pen.fillStyle = ink(colour);
  pen.lineWidth = width * scale;
  pen.setLineDash(dash.map((part) => part * scale));
  pen.beginPath();
  const at = x === undefined ? one.valToPos(y, "y", true) : one.valToPos(x, "x", true);
  if (x === undefined) [pen.moveTo(left, at), pen.lineTo(left + wide, at)];
  else [pen.moveTo(at, top), pen.lineTo(at, top + height)];
  pen.stroke();
  pen.setLineDash([]);
  pen.font = `${14 * scale}px serif`;
  pen.textAlign = "left";
  pen.textBaseline = "alphabetic";
  if (x === undefined) pen.fillText(word, left + 8 * scale, at - 6 * scale);
  else pen.fillText(word, at + 5 * scale, top + (16 + 18 * row) * scale);
}

/** A mark at a point: "round", "up", "down" or "cross". @param {any} one @param {CanvasRenderingContext2D} pen @param {number} x @param {number} y @param {string} kind */
export function spot(one, pen, x, y, kind) {
  const [scale, across, down] = [devicePixelRatio, one.valToPos(x, "x", true), one.valToPos(y, "y", true)];
  const size = 6 * scale;
  pen.lineWidth = 2.5 * scale;
  pen.strokeStyle = ink(kind === "cross" ? "--warn" : "--ink");
  pen.fillStyle = ink("--sheet");
  pen.beginPath();
  if (kind === "round") pen.arc(across, down, size, 0, 2 * Math.PI);
  else if (kind === "cross") [pen.moveTo(across - size, down - size), pen.lineTo(across + size, down + size), pen.moveTo(across + size, down - size), pen.lineTo(across - size, down + size)];
  else {
    const tip = kind === "up" ? -size : size;
    [pen.moveTo(across - size, down - tip), pen.lineTo(across + size, down - tip), pen.lineTo(across, down + tip), pen.closePath()];
  }
  pen.fill();
  pen.stroke();
}
