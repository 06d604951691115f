"use strict";
// The charts. Comes in: a choice and a width. Goes out: figures for Plotly: everyone as the edition draws it; groups as
// small ones side by side, in order of name, on one scale, with everyone in each. It describes no chart: it takes the
// edition's own and puts other figures into their lists.

// Plotly reads a few tags in its texts.
const plain = text => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");
const [BLUE, , BLACK, GREY] = held.colours;
const frameOf = width => width < 560 ? "narrow" : "wide";
const valueOf = row => row ? row[VALUE] : null;
const reach = (row, from, to) => row && row[VALUE] !== null && row[from] !== null && row[to] !== null ? row[to] - row[from] : null;

function bandOf(template, series) {
  const band = {...copied(template), x: [], y: []};
  series.forEach((row, place) => {
    if (!row || row[LOW] === null) return;
    band.x.push(place, place, null);
    band.y.push(row[LOW], row[HIGH], null);
  });
  return band;
}

function lineOf(template, measure, series, heads, level) {
  const line = copied(template);
  line.x = series.map((_, place) => place);
  line.y = series.map(valueOf);
  line.marker.color = series.map(row => row && !row[COMPLETE] ? held.paper : BLUE);
  line.error_y = {...line.error_y, array: series.map(row => reach(row, VALUE, UPPER)), arrayminus: series.map(row => reach(row, LOWER, VALUE))};
  line.cliponaxis = false;
  line.customdata = series.map((row, place) => row ? folded(`${heads[place]}: ${saysOf(measure, row)}`, 50) : "");
  line.hovertemplate = "%{customdata}<extra></extra>";
  line.meta = level; // whose points can be opened
  return line;
}

const thin = (x, y, dash, colour, shape = "linear") => ({type: "scatter", mode: "lines", x, y, hoverinfo: "skip",
  line: {color: colour, width: 1.5, dash, shape}});

// A text in lines of about so many letters.
function folded(text, letters) {
  const lines = [""];
  for (const word of text.split(" ")) {
    if ((lines.at(-1) + word).length > letters) lines.push("");
    lines[lines.length - 1] += (lines.at(-1) ? " " : "") + word;
  }
  return lines.map(plain).join("<br>");
}

const ruler = document.createElement("canvas").getContext("2d");

// A name over its chart: two lines at the most, as wide as there is room. In full it stands by its box, in the table and
// where one points.
function nameOf(label, font, room) {
  ruler.font = `700 ${font.size}px ${font.family}`;
  const fits = text => ruler.measureText(text).width <= room;
  const words = label.split(" ");
  let first = words.shift();
  while (words.length && fits(`${first} ${words[0]}`)) first += ` ${words.shift()}`;
  const cut = text => {
    let kept = text;
    while (!fits(kept)) kept = `${[...kept.replace(/\u2026$/, "")].slice(0, -1).join("")}\u2026`;
    return plain(kept);
  };
  return [first, words.join(" ")].filter(Boolean).map(cut);
}

// Heights for labels, as near as can be to the wanted ones, each `least` from the next.
function apart(wanted, least, high) {
  const order = wanted.map((value, place) => place).sort((one, other) => wanted[one] - wanted[other] || one - other);
  const placed = [];
  order.forEach((place, rank) => {
    const floor = rank ? placed[order[rank - 1]] + least : least / 2;
    placed[place] = Math.min(Math.max(wanted[place], floor), high - least * (order.length - 1 - rank) - least / 4);
  });
  return placed;
}

function labelsOf(ends, layout, top) {
  const lines = Math.max(1, ...ends.map(end => end.text.split("<br>").length));
  const room = layout.height - layout.margin.t - layout.margin.b;
  const heights = apart(ends.map(end => end.share / top * room), (1.25 * lines + 0.1) * layout.font.size, room);
  return ends.map((end, place) => ({
    text: end.text, x: 1, y: heights[place] / room, xref: "paper", yref: "paper", xanchor: "left", yanchor: "middle",
    align: "left", showarrow: false, xshift: 4, font: {color: end.colour},
  }));
}

// --- Everyone, period by period.

function ticksOf(choice, series, step) {
  const places = [], texts = [];
  const last = choice.to - choice.from;
  for (let place = 0; place <= last; place += 1) {
    if ((last - place) % step) continue;
    const [name, short] = held.periods[choice.from + place];
    const before = held.periods[choice.from + place - step];
    const newYear = name.includes("Q") && (place < step || before[0].slice(0, 4) !== name.slice(0, 4));
    const soFar = series[place] && !series[place][COMPLETE];
    places.push(place);
    texts.push(short.split(" ")[0] + (newYear ? "<br>" + name.slice(0, 4) : "") + (soFar ? "<br>so far" : ""));
  }
  return {range: [-0.5, last + 0.5], tickvals: places, ticktext: texts};
}

// The parts of one chart of the edition, with other figures in them.
function partsOf(choice, template, series, level, label) {
  const measure = byName.get(choice.measure);
  const heads = periodsOf(choice).map(period => period[1] + (label ? `, ${label}` : ""));
  return {
    band: measure.days ? [] : [bandOf(template[0], series)],
    standard: template.length === 3 ? [{...template[1], x: [-0.5, choice.to - choice.from + 0.5], hoverinfo: "skip"}] : [],
    line: lineOf(template.at(-1), measure, series, heads, level),
  };
}

// One scale for all that is shown.
function axisOf(choice) {
  const shown = [[EVERYONE, EVERYONE], ...chosenOf(choice).map(([level]) => [choice.split, level])]
    .flatMap(([split, level]) => seriesOf(choice, split, level)).filter(Boolean);
  const highest = Math.max(0, ...shown.flatMap(row => [row[VALUE], row[UPPER], row[HIGH]]));
  const {axes} = byName.get(choice.measure);
  return axes.find(axis => axis.range[1] >= highest) ?? axes.at(-1);
}

function everyoneFigure(choice, width) {
  const measure = byName.get(choice.measure);
  const frame = frameOf(width);
  const {data, layout} = copied(measure.charts[frame]);
  const series = everyoneOf(choice);
  const {band, standard, line} = partsOf(choice, data, series, EVERYONE, "");
  const many = choice.to - choice.from;
  Object.assign(layout.xaxis, ticksOf(choice, series, many > 16 ? 4 : frame === "narrow" && many >= 5 ? 2 : 1));
  layout.width = width;
  const asInEdition = choice.from === firstChoice().from && choice.to === firstChoice().to;
  if (!asInEdition) { // else it has its own axis and labels
    const axis = axisOf(choice);
    Object.assign(layout.yaxis, axis);
    const last = series.at(-1);
    const ends = valueOf(last) === null ? [] : [{share: last[VALUE], text: last[LABEL], colour: BLUE}];
    if (standard.length) ends.push({share: standard[0].y[0], text: measure.standard, colour: BLACK});
    layout.annotations = labelsOf(ends, layout, axis.range[1]);
  }
  return {data: [...band, ...standard, line], layout};
}

// --- Groups side by side.

const [PANEL, PLOT, TICKS, GAP] = [185, 112, 40, 44]; // pixels: least width, height of a plot, of its ticks, between two

// One layout for all: each with its name and what it says above, the same scales.
function sideBySide(panels, layout, width, axes) {
  const {l: left} = layout.margin;
  const inner = width - left - 8;
  const columns = Math.max(1, Math.min(panels.length, Math.floor(inner / PANEL)));
  const rows = Math.ceil(panels.length / columns);
  const across = inner / columns;
  const names = panels.map(panel => nameOf(panel.label, layout.font, across - GAP));
  const head = (Math.max(...names.map(lines => lines.length)) + 1) * layout.font.size * 1.3 + 12;
  const down = head + PLOT + TICKS;
  const high = rows * down;
  const made = {...layout, width, height: high + 8, margin: {l: left, r: 8, t: 8, b: 0}, annotations: []};
  const data = panels.flatMap((panel, place) => {
    const [column, row] = [place % columns, Math.floor(place / columns)];
    const number = place ? place + 1 : "";
    const start = column * across / inner;
    const top = 1 - (row * down + head) / high;
    made[`xaxis${number}`] = {...axes.x, anchor: `y${number}`, domain: [start, start + (across - GAP) / inner]};
    made[`yaxis${number}`] = {...axes.y, anchor: `x${number}`, domain: [top - PLOT / high, top], showticklabels: column === 0};
    const line = 1.3 * layout.font.size;
    const note = {x: start, y: top, xref: "paper", yref: "paper", xanchor: "left", yanchor: "bottom", align: "left", showarrow: false};
    // No tag for bold letters: Plotly would write it as a style, which the page lets nobody do.
    made.annotations.push({...note, text: names[place].join("<br>"), yshift: 8 + line, font: {weight: 700}},
      {...note, text: plain(panel.says), yshift: 8});
    return panel.traces.map(trace => ({...trace, xaxis: `x${number}`, yaxis: `y${number}`}));
  });
  return {data, layout: made};
}

function groupsFigure(choice, width) {
  const measure = byName.get(choice.measure);
  const {data: template, layout} = copied(measure.charts[frameOf(width)]);
  const many = choice.to - choice.from;
  const whole = thin(periodsOf(choice).map((_, place) => place), everyoneOf(choice).map(valueOf), "dot", BLACK);
  const ends = many ? [0, many] : [0];
  const panels = chosenOf(choice).map(([level, label]) => {
    const series = seriesOf(choice, choice.split, level);
    const {band, standard, line} = partsOf(choice, template, series, level, label);
    line.marker.size = 7;
    const last = series.at(-1);
    const said = valueOf(last) === null ? "no figure" : last[LABEL].replace("<br>", ", ");
    return {label, says: `${held.periods[choice.to][1]}: ${said}`, traces: [...band, ...standard, whole, line]};
  });
  const x = {...layout.xaxis, range: [-0.5, many + 0.5], tickvals: ends, ticktext: ends.map(place => periodsOf(choice)[place][1].replace(/ (\d\d)$/, "<br>20$1"))};
  return sideBySide(panels, layout, width, {x, y: {...layout.yaxis, ...axisOf(choice)}});
}

const figureOf = (choice, width) => (chosenOf(choice).length ? groupsFigure : everyoneFigure)(choice, width);

// --- How a wait grew, day by day, and a year before.

const curveAt = (choice, split, level, place) => place === null ? undefined
  : held.curves[choice.measure]?.[split]?.[level]?.[held.periods[place][0]];

function curveLine(choice, template, split, level, place, label) {
  const steps = curveAt(choice, split, level, place)?.steps ?? [];
  if (!steps.length) return [];
  const line = copied(template);
  delete line.name;
  const name = plain([held.periods[place][1], label].filter(Boolean).join(", "));
  return [{...line, x: [0, ...steps.map(step => step[0])], y: [0, ...steps.map(step => step[1])],
    customdata: ["", ...steps.map(([day, , share]) => `${name}<br>by day ${day}: ${share}`)], hovertemplate: "%{customdata}<extra></extra>"}];
}

function curveOf(choice, width) {
  const measure = byName.get(choice.measure);
  if (!measure.curve_charts) return null;
  const {data, layout} = copied(measure.curve_charts[frameOf(width)]);
  const now = data.at(-1), then = {...now, line: {...now.line, color: GREY, dash: "dash", width: 1.75}};
  const [to, before] = [choice.to, held.periods[choice.to][3]];
  const both = (split, level, label) => [
    ...curveLine(choice, then, split, level, before, label), ...curveLine(choice, now, split, level, to, label)];
  const groups = chosenOf(choice);
  const whole = curveLine(choice, now, EVERYONE, EVERYONE, to, "everyone")
    .map(line => ({...thin(line.x, line.y, "dot", BLACK, "hv")}));
  if (groups.length) {
    const panels = groups.map(([level, label]) => ({label, says: held.periods[to][1] +
      (curveAt(choice, choice.split, level, to)?.steps.length ? "" : ": no figure"), traces: [...whole, ...both(choice.split, level, label)]}));
    const x = {...layout.xaxis, tickvals: [0, 28, 56, 84], ticktext: ["0", "day 28", "56", "84"]};
    return panels.some(panel => panel.traces.length) ? sideBySide(panels, layout, width, {x, y: layout.yaxis}) : null;
  }
  const lines = both(EVERYONE, EVERYONE, "");
  if (!lines.length) return null;
  const ends = lines.map(line => ({share: line.y.at(-1), colour: line.line.color,
    text: plain(held.periods[line.line.dash === "dash" ? before : to][1])}));
  return {data: lines, layout: {...layout, width, annotations: labelsOf(ends, layout, 1)}};
}
