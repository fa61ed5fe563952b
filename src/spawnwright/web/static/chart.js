// Colonization of a jar against its forecast: low, likely and high as lines, looks as points.
const place = document.querySelector("[data-chart]");

function tokens() {
  const style = getComputedStyle(document.documentElement);
  return (name) => style.getPropertyValue(`--${name}`).trim();
}

const MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split(" ");

function draw() {
  const { began, curve, looks } = JSON.parse(place.dataset.chart);
  const start = Date.parse(began);
  const days = [...new Set([...curve, ...looks].map((each) => each[0]))].sort((a, b) => a - b);
  const at = (rows, column) => {
    const found = new Map(rows.map((row) => [row[0], row[column]]));
    return days.map((day) => found.get(day) ?? null);
  };
  const date = (day) => {
    const when = new Date(start + day * 86400000);
    return `${when.getDate()} ${MONTHS[when.getMonth()]}`;
  };
  const color = tokens();
  const axis = { stroke: color("ink-soft"), grid: { stroke: color("line"), width: 1 }, ticks: { stroke: color("line"), width: 1 } };
  const line = (label, dash, width) => ({ label, stroke: color("deed"), dash, width, spanGaps: true, points: { show: false } });
  place.hidden = false;
  const size = () => ({ width: place.clientWidth, height: Math.min(360, Math.max(240, place.clientWidth * 0.6)) });
  const chart = new window.uPlot({
    ...size(),
    scales: { x: { time: false }, y: { range: [0, 100] } },
    legend: { live: false, markers: {
      width: (drawn, each) => Math.max(2, drawn.series[each].width),
      dash: (drawn, each) => ({ low: "dashed", high: "dotted" })[drawn.series[each].label] ?? "solid",
      fill: (drawn, each) => ({ likely: color("deed"), looks: color("caution") })[drawn.series[each].label] ?? null,
    } },
    cursor: { drag: { x: false, y: false } },
    axes: [
      { ...axis, values: (_, ticks) => ticks.map((day) => `day ${day}\n${date(day)}`), space: 64, size: 48 },
      { ...axis, values: (_, ticks) => ticks.map((share) => `${share} %`), size: 56 },
    ],
    bands: [{ series: [2, 1], fill: color("deed-soft") }],
    series: [
      { label: "day" },
      line("low", [6, 4], 1.5),
      line("high", [2, 3], 1.5),
      line("likely", [], 2.5),
      { label: "looks", stroke: color("ink"), width: 0, paths: () => null, points: { show: true, size: 11, width: 2, stroke: color("ink"), fill: color("caution") } },
    ],
  }, [days, at(curve, 1), at(curve, 3), at(curve, 2), at(looks, 1)], place);
  addEventListener("resize", () => chart.setSize(size()));
}

if (place && window.uPlot) draw();
