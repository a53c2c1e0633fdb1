// Moves the readout of pictures that share their rows: by pointer, and by arrow keys where one has the focus. The page is whole without it.
"use strict";
for (const group of document.querySelectorAll("[data-plots]")) {
  const data = JSON.parse(group.querySelector("script").textContent);
  const samples = [...group.querySelectorAll(".legend .sample")];
  const steps = [...new Set(data.series.flatMap((s) => s.columns[data.index]))]
    .filter((value) => value !== null)
    .sort((a, b) => a - b);
  const worded = (key, value) => {
    const { unit, decimals } = data.known[key];
    if (value === null) return "–";
    // Never "-0".
    const text = value.toFixed(decimals).replace(/^-(0(\.0*)?)$/, "$1");
    return unit ? `${text} ${unit}` : text;
  };

  // Row of a series at a value of the index: its nearest, or just that one; none before its first or after its last.
  const rowAt = (series, value) => {
    const list = series.columns[data.index];
    let best = -1;
    list.forEach((at, i) => {
      if (at !== null && (best < 0 || Math.abs(at - value) < Math.abs(list[best] - value))) best = i;
    });
    if (best < 0) return -1;
    const slack = data.exact ? 1e-9 : 0.05;
    const inside = value >= list[0] - slack && value <= list[list.length - 1] + slack;
    return data.exact ? (Math.abs(list[best] - value) < 1e-9 ? best : -1) : inside ? best : -1;
  };

  const plots = [...group.querySelectorAll(".plot")].map((figure) => {
    const svg = figure.querySelector("svg");
    const [x0, kx, y0, ky] = figure.dataset.scales.split(" ").map(Number);
    const keys = { x: figure.dataset.x, y: figure.dataset.y, says: figure.dataset.says.split(" ") };
    const cursors = data.series.map(() => {
      const cursor = document.createElementNS(svg.namespaceURI, "circle");
      cursor.setAttribute("class", "cursor");
      cursor.setAttribute("r", "5");
      cursor.setAttribute("visibility", "hidden");
      return svg.appendChild(cursor);
    });
    return {
      figure, svg, keys, cursors, speaks: false,
      readout: figure.querySelector(".readout"),
      place: (series, row) => {
        const x = series.columns[keys.x]?.[row], y = series.columns[keys.y]?.[row];
        return x === undefined || y === undefined || x === null || y === null ? null : [x0 + kx * x, y0 + ky * y];
      },
    };
  });

  const say = (plot, value) => {
    const head = document.createElement("b");
    head.textContent = data.names.length ? data.names[value] : `${data.known[data.index].name} ${worded(data.index, value)}`;
    const parts = [head];
    data.series.forEach((series, i) => {
      const row = rowAt(series, value);
      if (row < 0 || !plot.place(series, row)) return;
      const said = plot.keys.says.map((key) => worded(key, series.columns[key][row]));
      const own = series.columns[data.index][row];
      const when = Math.abs(own - value) < 1e-9 ? "" : ` (at ${worded(data.index, own)})`;
      const part = document.createElement("span");
      if (samples[i]) part.append(samples[i].cloneNode(true));
      part.append(`${series.name}${when}: ${said.join(", ")}`);
      part.dataset.series = series.name;
      part.dataset.row = own;
      parts.push(part);
    });
    plot.readout.replaceChildren(...parts);
    // It grows and does not shrink, so that pictures stay where they are under the pointer.
    plot.readout.style.minHeight = `${plot.readout.offsetHeight}px`;
  };

  let now = -1;
  const show = (asked, step) => {
    now = Math.max(0, Math.min(steps.length - 1, step));
    asked.speaks = true;
    for (const plot of plots) {
      data.series.forEach((series, i) => {
        const row = rowAt(series, steps[now]);
        const place = row < 0 ? null : plot.place(series, row);
        plot.cursors[i].setAttribute("visibility", place ? "visible" : "hidden");
        if (!place) return;
        plot.cursors[i].setAttribute("cx", place[0]);
        plot.cursors[i].setAttribute("cy", place[1]);
      });
      // Pictures not yet asked keep quiet, so that nothing moves above the one that is.
      if (plot.speaks) say(plot, steps[now]);
    }
  };

  for (const plot of plots) {
    plot.readout.textContent = "Point at the picture, or focus it and press the arrow keys.";
    plot.figure.addEventListener("pointermove", (event) => {
      const matrix = plot.svg.getScreenCTM();
      if (!matrix) return;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      const alongIndex = plot.keys.x === data.index;
      let best = null, least = Infinity;
      for (const series of data.series) {
        series.columns[data.index].forEach((value, row) => {
          const place = plot.place(series, row);
          if (!place) return;
          const dx = place[0] - at.x, dy = place[1] - at.y;
          const distance = alongIndex ? Math.abs(dx) : Math.hypot(dx, dy);
          if (distance < least) [least, best] = [distance, value];
        });
      }
      if (best !== null) show(plot, steps.indexOf(best));
    });
    const moves = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: -20, PageDown: 20, Home: -Infinity, End: Infinity };
    plot.figure.addEventListener("keydown", (event) => {
      if (!(event.key in moves) || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      show(plot, now < 0 && Number.isFinite(moves[event.key]) ? 0 : now + moves[event.key]);
    });
    plot.figure.addEventListener("focus", () => plot.readout.setAttribute("aria-live", "polite"));
    plot.figure.addEventListener("blur", () => plot.readout.removeAttribute("aria-live"));
  }
}
