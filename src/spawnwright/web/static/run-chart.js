// Temperature and lethality of a run: two line charts, and a table that says the same.
function tokens() {
  const style = getComputedStyle(document.documentElement);
  return (name) => style.getPropertyValue(`--${name}`).trim();
}

function loadChart() {
  return new Promise((done, failed) => {
    if (window.uPlot) { done(); return; }
    const script = document.createElement("script");
    script.src = new URL("vendor/uplot.js", import.meta.url);
    script.onload = done;
    script.onerror = failed;
    document.head.append(script);
  });
}

export async function drawCurve(place) {
  let curve;
  try {
    const answer = await fetch(place.dataset.curve, { cache: "no-store" });
    if (!answer.ok) return;
    curve = await answer.json();
    if (!curve.minute.length) return;
    await loadChart();
  } catch {
    place.textContent = "The chart comes when the computer answers again.";
    return;
  }
  const offset = Number(place.dataset.zoneOffset);
  const began = Date.parse(curve.began_at) / 1000;
  const clock = (seconds) => new Date((seconds + offset) * 1000).toISOString().slice(11, 16);
  const time = curve.minute.map((minute) => began + minute * 60);
  const present = began + curve.now_minute * 60;
  place.replaceChildren();
  const color = tokens();
  const axis = (label, extra = {}) => ({ stroke: color("ink-soft"), grid: { stroke: color("line"), width: 1 }, ticks: { stroke: color("line") }, label, ...extra });
  const soft = `${color("deed")}33`;
  const nowLine = {
    hooks: { draw: [(plot) => {
      const x = plot.valToPos(present, "x", true);
      if (x < plot.bbox.left || x > plot.bbox.left + plot.bbox.width) return;
      plot.ctx.save();
      plot.ctx.strokeStyle = color("ink-soft");
      plot.ctx.setLineDash([4, 4]);
      plot.ctx.beginPath();
      plot.ctx.moveTo(x, plot.bbox.top);
      plot.ctx.lineTo(x, plot.bbox.top + plot.bbox.height);
      plot.ctx.stroke();
      plot.ctx.fillStyle = color("ink-soft");
      plot.ctx.font = `${12 * devicePixelRatio}px system-ui, sans-serif`;
      plot.ctx.textAlign = "left";
      plot.ctx.fillText("now", x + 4 * devicePixelRatio, plot.bbox.top + 12 * devicePixelRatio);
      plot.ctx.restore();
    }] },
  };
  const chart = (title, series, bands, data, label) => {
    const box = document.createElement("div");
    place.append(box);
    const plot = new window.uPlot({
      title, width: Math.max(280, place.clientWidth), height: 260, series, bands, plugins: [nowLine],
      legend: { live: false, markers: {
        width: (drawn, each) => drawn.series[each].width,
        dash: (drawn, each) => (drawn.series[each].dash ? "dashed" : "solid"),
        fill: (drawn, each) => (drawn.series[each].width > 1 && !drawn.series[each].dash ? drawn.series[each].stroke(drawn, each) : null),
      } },
      scales: { x: { time: false } },
      axes: [axis(undefined, { values: (_, ticks) => ticks.map(clock), space: 60, incrs: [600, 900, 1800, 3600, 7200, 10800, 14400, 21600, 43200, 86400] }), axis(label, { size: 60 })],
      cursor: { drag: { x: false, y: false } },
    }, data, box);
    addEventListener("resize", () => plot.setSize({ width: Math.max(280, place.clientWidth), height: 260 }));
  };
  const line = (label, name, extra = {}) => ({ label, stroke: color(name), width: 2, points: { show: false }, ...extra });
  const probes = curve.probes.map((probe) => {
    const from = Date.parse(probe.began_at) / 1000;
    return { label: `probe ${probe.probe}`, values: along(time, probe.minute.map((minute) => from + minute * 60), probe.temperature_c) };
  });
  chart("Temperature", [{}, line("steam", "caution", { dash: [8, 4] }), line("core, quickest", "deed", { width: 1 }), line("core, likely", "deed"), line("core, slowest", "deed", { width: 1 }),
    ...probes.map((probe) => line(probe.label, "harm"))],
    [{ series: [2, 4], fill: soft }],
    [time, curve.steam_c, curve.core_high_c, curve.core_likely_c, curve.core_low_c, ...probes.map((probe) => probe.values)], "°C");
  chart("Lethality at the coldest point", [{}, line("highest", "deed", { width: 1 }), line("likely", "deed"), line("lowest", "deed", { width: 1 })],
    [{ series: [1, 3], fill: soft }], [time, curve.f0_high_min, curve.f0_likely_min, curve.f0_low_min], "F0, minutes");
  place.append(table(curve, time, clock));
}

// Readings brought to the instants of the curve, straight between two; nothing beyond them.
function along(time, at, values) {
  let place = 0;
  return time.map((instant) => {
    if (instant < at[0] || instant > at[at.length - 1]) return null;
    while (place < at.length - 2 && at[place + 1] < instant) place += 1;
    const part = (instant - at[place]) / (at[place + 1] - at[place]);
    return values[place] + part * (values[place + 1] - values[place]);
  });
}

function table(curve, time, clock) {
  const details = document.createElement("details");
  const summary = document.createElement("summary");
  summary.textContent = "The same as a table";
  const grid = document.createElement("table");
  const head = grid.createTHead().insertRow();
  for (const each of ["Time", "Steam °C", "Core °C, low to high", "F0 min, low to high"]) {
    const cell = document.createElement("th");
    cell.scope = "col";
    cell.textContent = each;
    head.append(cell);
  }
  const body = grid.createTBody();
  const step = Math.max(1, Math.floor(time.length / 16));
  for (let row = 0; row < time.length; row += step) {
    const line = body.insertRow();
    line.insertCell().textContent = clock(time[row]);
    line.insertCell().textContent = curve.steam_c[row].toFixed(0);
    line.insertCell().textContent = `${curve.core_likely_c[row].toFixed(0)} (${curve.core_low_c[row].toFixed(0)} to ${curve.core_high_c[row].toFixed(0)})`;
    line.insertCell().textContent = `${curve.f0_likely_min[row].toFixed(1)} (${curve.f0_low_min[row].toFixed(1)} to ${curve.f0_high_min[row].toFixed(1)})`;
  }
  details.append(summary, grid);
  return details;
}
