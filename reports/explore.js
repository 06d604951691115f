"use strict";
// The page to explore. Comes in: the JSON of #held, which Python words and describes (pipeline/report/explore.py), and
// the choice in the address. Goes out: a chart, the sentence of what is shown, a table of the same figures. It words no
// figure and describes no chart: it takes the edition's own and puts other figures into their lists.

const held = JSON.parse(document.getElementById("held").textContent);
const byName = new Map(held.measures.map(each => [each.name, each]));
const MOST = 4; // groups at a time
// Colour is never the only sign: each group has a dash, a mark and its name at the end of its line.
const LOOKS = [
  {colour: held.colours[0], dash: "solid", symbol: "circle"},
  {colour: held.colours[1], dash: "dash", symbol: "diamond"},
  {colour: held.colours[2], dash: "dot", symbol: "square"},
  {colour: held.colours[3], dash: "longdash", symbol: "triangle-up"},
];
// Columns of a row, as Python lays it.
const [QUARTER, VALUE, LOWER, UPPER, LOW, HIGH, COMPLETE, SENTENCE, LABEL, SMALL] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9];
// What the address may hold, in the words of the controls.
const KEYS = new Map([["measure", "measure"], ["split", "by group"], ["group", "group"], ["from", "from"], ["to", "to"]]);

const at = id => document.getElementById(id);
const copied = value => JSON.parse(JSON.stringify(value));
// Plotly reads a few tags in its texts.
const plain = text => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

const rowsOf = (measure, split, level) => (held.rows[measure]?.[split] ?? {})[level] ?? [];
const splitsOf = measure => held.breakdowns.filter(each => Object.keys(held.rows[measure]?.[each.name] ?? {}).length);
const levelsOf = (measure, split) => held.breakdowns.find(each => each.name === split).levels
  .filter(([level]) => rowsOf(measure, split, level).length);
const chosenOf = choice => levelsOf(choice.measure, choice.split).filter(([level]) => choice.groups.includes(level));

// --- The choice: what it starts as, what the address says, what the controls say.

function firstChoice() {
  const last = held.periods.length - 1;
  return {measure: held.first, split: "all", groups: ["all"], from: Math.max(0, last - held.shown + 1), to: last};
}

// A link to a place in this page, such as the one that skips to the choice, is no choice.
const isPlace = address => address.length > 1 && at(address.slice(1)) !== null;

// What of the address can be shown; what cannot is left as it starts, and said.
function choiceOf(address) {
  const asked = new URLSearchParams(isPlace(address) ? "" : address.replace(/^#/, ""));
  const choice = firstChoice();
  const refused = [];
  const take = (key, allowed, set) => {
    if (!asked.has(key)) return;
    if (allowed(asked.get(key))) set(asked.get(key));
    else refused.push(key);
  };
  take("measure", name => byName.has(name), name => { choice.measure = name; });
  take("split", name => splitsOf(choice.measure).some(each => each.name === name), name => { choice.split = name; });
  const there = levelsOf(choice.measure, choice.split).map(([level]) => level);
  choice.groups = there.slice(0, MOST);
  const wanted = asked.getAll("group");
  if (wanted.length) {
    const kept = there.filter(level => wanted.includes(level)).slice(0, MOST);
    if (kept.length < wanted.length) refused.push("group");
    if (kept.length) choice.groups = kept;
  }
  const place = name => held.periods.findIndex(each => each[0] === name);
  take("from", name => place(name) >= 0, name => { choice.from = place(name); });
  take("to", name => place(name) >= choice.from, name => { choice.to = place(name); });
  if (choice.from > choice.to) choice.from = choice.to;
  for (const key of asked.keys()) {
    if (!KEYS.has(key) && !refused.includes(key)) refused.push(key);
  }
  return [choice, refused];
}

function addressOf(choice) {
  const said = new URLSearchParams({measure: choice.measure, split: choice.split});
  if (choice.split !== "all") choice.groups.forEach(level => said.append("group", level));
  said.append("from", held.periods[choice.from][0]);
  said.append("to", held.periods[choice.to][0]);
  return "#" + said;
}

// --- The controls.

function fill(select, options, chosen) {
  select.replaceChildren(...options.map(([value, label]) => new Option(label, value, false, value === chosen)));
}

function showControls(choice) {
  at("measure").value = choice.measure;
  fill(at("split"), splitsOf(choice.measure).map(each => [each.name, each.title]), choice.split);
  const periods = held.periods.map((each, place) => [String(place), each[2]]);
  fill(at("from"), periods.slice(0, choice.to + 1), String(choice.from));
  fill(at("to"), periods.slice(choice.from), String(choice.to));
  const levels = levelsOf(choice.measure, choice.split);
  at("groups").hidden = choice.split === "all";
  at("groups").replaceChildren(at("groups").querySelector("legend"), ...levels.map(([level, label]) => {
    const box = document.createElement("input");
    box.type = "checkbox";
    box.value = level;
    box.checked = choice.groups.includes(level);
    // The fifth cannot be chosen, and the last one cannot be taken away.
    box.disabled = box.checked ? choice.groups.length === 1 : choice.groups.length >= MOST;
    const line = document.createElement("label");
    line.append(box, " " + label);
    return line;
  }));
}

function choiceOfControls(changed) {
  const choice = {measure: at("measure").value, split: at("split").value, from: Number(at("from").value), to: Number(at("to").value)};
  if (!splitsOf(choice.measure).some(each => each.name === choice.split)) choice.split = "all";
  const there = levelsOf(choice.measure, choice.split).map(([level]) => level);
  const ticked = [...at("groups").querySelectorAll("input:checked")].map(box => box.value);
  const kept = changed === "split" ? [] : there.filter(level => ticked.includes(level));
  choice.groups = kept.length ? kept.slice(0, MOST) : there.slice(0, MOST);
  return choice;
}

// --- The chart: the edition's own, with other figures in its lists.

function seriesOf(choice, level) {
  const rows = new Map(rowsOf(choice.measure, choice.split, level).map(row => [row[QUARTER], row]));
  const series = [];
  for (let place = choice.from; place <= choice.to; place += 1) series.push(rows.get(place) ?? null);
  return series;
}

const valueOf = (row, column) => row ? row[column] : null;
const reach = (row, from, to) => row && row[VALUE] !== null && row[from] !== null && row[to] !== null ? row[to] - row[from] : null;

function ticksOf(choice, series, step) {
  const places = [], texts = [];
  const last = choice.to - choice.from;
  for (let place = 0; place <= last; place += 1) {
    if ((last - place) % step) continue;
    const [name, short] = held.periods[choice.from + place];
    const before = held.periods[choice.from + place - step];
    const newYear = name.includes("Q") && (place < step || before[0].slice(0, 4) !== name.slice(0, 4));
    const soFar = series.some(each => each[place] && !each[place][COMPLETE]);
    places.push(place);
    texts.push(short.split(" ")[0] + (newYear ? "<br>" + name.slice(0, 4) : "") + (soFar ? "<br>so far" : ""));
  }
  return {range: [-0.5, last + 0.5], tickvals: places, ticktext: texts};
}

function bandOf(template, places, series) {
  const band = copied(template);
  band.x = []; band.y = [];
  series.forEach((row, place) => {
    if (!row || row[LOW] === null) return;
    band.x.push(places[place], places[place], null);
    band.y.push(row[LOW], row[HIGH], null);
  });
  return band;
}

function lineOf(template, places, series, look, heads) {
  const line = copied(template);
  line.x = places;
  line.y = series.map(row => valueOf(row, VALUE));
  line.line = {...line.line, color: look.colour, dash: look.dash};
  line.marker = {...line.marker, symbol: look.symbol, line: {...line.marker.line, color: look.colour},
    color: series.map(row => row && !row[COMPLETE] ? held.paper : look.colour)};
  line.error_y = {...line.error_y, color: look.colour,
    array: series.map(row => reach(row, VALUE, UPPER)), arrayminus: series.map(row => reach(row, LOWER, VALUE))};
  line.cliponaxis = false;
  line.customdata = series.map((row, place) => row ? folded(`${heads[place]}: ${row[SENTENCE]}`) : "");
  line.hovertemplate = "%{customdata}<extra></extra>";
  return line;
}

// A hover text in lines of about fifty letters.
function folded(text) {
  const lines = [""];
  for (const word of text.split(" ")) {
    if ((lines.at(-1) + word).length > 50) lines.push("");
    lines[lines.length - 1] += (lines.at(-1) ? " " : "") + word;
  }
  return lines.map(plain).join("<br>");
}

const ruler = document.createElement("canvas").getContext("2d");

// A name at the end of a line: two lines at the most, as wide as there is room. In full it stands by its box, in the
// table and where one points.
function nameOf(label, layout) {
  ruler.font = `${layout.font.size}px ${layout.font.family}`;
  const fits = text => ruler.measureText(text).width <= layout.margin.r - 6;
  const words = label.split(" ");
  let first = words.shift();
  while (words.length && fits(`${first} ${words[0]}`)) first += ` ${words.shift()}`;
  const cut = text => {
    let kept = text;
    while (!fits(kept)) kept = `${[...kept.replace(/\u2026$/, "")].slice(0, -1).join("")}\u2026`;
    return plain(kept);
  };
  return [first, words.join(" ")].filter(Boolean).map(cut).join("<br>");
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

// What each point of a group is called where one points at it.
const headsOf = (choice, label) => held.periods.slice(choice.from, choice.to + 1)
  .map(each => each[1] + (label ? `, ${label}` : ""));

const frameOf = element => element.clientWidth < 560 ? "narrow" : "wide";

function figureOf(choice, frame) {
  const measure = byName.get(choice.measure);
  const {data, layout} = copied(measure.charts[frame]);
  const everyone = choice.split === "all";
  const alone = choice.groups.length === 1;
  const levels = chosenOf(choice);
  const series = levels.map(([level]) => seriesOf(choice, level));
  const shift = levels.map((_, place) => (place - (levels.length - 1) / 2) * 0.12); // side by side, not on top
  const step = choice.to - choice.from > 16 ? 4 : frame === "narrow" && choice.to - choice.from >= 5 ? 2 : 1;
  const main = data.at(-1);
  const places = shift.map(by => series[0].map((_, place) => place + by));
  const lines = series.map((each, group) => lineOf(
    main, places[group], each, LOOKS[group], headsOf(choice, everyone ? "" : levels[group][1])));
  const bands = measure.days ? [] : series.map((each, group) => bandOf(data[0], places[group], each));
  const standard = data.length === 3 ? [{...data[1], x: [-0.5, choice.to - choice.from + 0.5], hoverinfo: "skip"}] : [];
  Object.assign(layout.xaxis, ticksOf(choice, series, step));
  const asInEdition = everyone && choice.from === firstChoice().from && choice.to === firstChoice().to;
  const axis = asInEdition ? layout.yaxis : measure.axis;
  Object.assign(layout.yaxis, {range: axis.range, tickvals: axis.tickvals, ticktext: axis.ticktext});
  if (!alone) layout.margin.r += frame === "narrow" ? 26 : 60;
  if (asInEdition) return {data: [...bands, ...standard, ...lines], layout}; // with its own labels
  const ends = [];
  series.forEach((each, group) => {
    // A group is named at its last figure, wherever that is; everyone needs no name where the last quarter has no figure.
    const last = everyone && valueOf(each.at(-1), VALUE) === null ? null : each.findLast(row => valueOf(row, VALUE) !== null);
    const text = last && (everyone ? last[LABEL] : nameOf(levels[group][1], layout) + "<br>" + last[LABEL].replace("<br>", ", "));
    if (last) ends.push({share: last[VALUE], text, colour: LOOKS[group].colour});
  });
  if (standard.length) ends.push({share: standard[0].y[0], text: measure.standard, colour: held.colours[2]});
  layout.annotations = labelsOf(ends, layout, axis.range[1]);
  return {data: [...bands, ...standard, ...lines], layout};
}

const curveAt = (choice, level) => held.curves[choice.measure]?.[choice.split]?.[level]?.[held.periods[choice.to][0]];

function curveOf(choice, frame) {
  const measure = byName.get(choice.measure);
  if (!measure.curve_charts) return null;
  const {data, layout} = copied(measure.curve_charts[frame]);
  if (choice.groups.length > 1) layout.margin.r += frame === "narrow" ? 26 : 60;
  const ends = [];
  const lines = chosenOf(choice).flatMap(([level, label], group) => {
    const steps = curveAt(choice, level)?.steps ?? [];
    if (!steps.length) return [];
    const line = copied(data[0]);
    line.x = [0, ...steps.map(step => step[0])];
    line.y = [0, ...steps.map(step => step[1])];
    line.line = {...line.line, color: LOOKS[group].colour, dash: LOOKS[group].dash};
    const name = choice.split === "all" ? "" : plain(label) + "<br>";
    line.customdata = ["", ...steps.map(([day, , share]) => `${name}by day ${day}: ${share}`)];
    line.hovertemplate = "%{customdata}<extra></extra>";
    delete line.name;
    ends.push({share: line.y.at(-1), text: choice.split === "all" ? "" : nameOf(label, layout), colour: LOOKS[group].colour});
    return [line];
  });
  if (!lines.length) return null;
  layout.annotations = labelsOf(ends, layout, 1);
  return {data: lines, layout};
}

// No button sends a figure anywhere, and no logo leads anywhere.
const CONFIG = {toImageButtonOptions: {filename: "figures", scale: 2}, displaylogo: false, responsive: false, displayModeBar: true, scrollZoom: false,
  modeBarButtons: [["toImage", "zoom2d", "pan2d", "resetScale2d"]]};

function draw(element, figure, words) {
  element.hidden = !figure;
  if (!figure) {
    Plotly.purge(element);
    return;
  }
  figure.layout.width = element.clientWidth;
  // Room for the buttons above the chart.
  figure.layout.margin.t += 26;
  figure.layout.height += 26;
  figure.layout.hovermode = "closest";
  figure.layout.dragmode = false;
  figure.layout.modebar = {bgcolor: "rgba(0,0,0,0)", color: held.colours[3], activecolor: held.colours[0]};
  figure.layout.paper_bgcolor = figure.layout.plot_bgcolor = held.paper; // a picture that is saved has a ground too
  Plotly.react(element, figure.data, figure.layout, CONFIG);
  // One drawing is several layers, and its texts in their order say nothing: one name, and the table below for the rest.
  element.querySelectorAll(".main-svg").forEach((layer, place) => {
    if (place) layer.setAttribute("aria-hidden", "true");
    else {
      layer.setAttribute("role", "img");
      layer.setAttribute("aria-label", words);
    }
  });
}

// --- Words.

// What is shown, in words.
function wordsOf(choice) {
  const split = held.breakdowns.find(each => each.name === choice.split);
  const names = chosenOf(choice).map(each => each[1]);
  const who = choice.split === "all" ? "everyone" : `${split.title.toLowerCase()}: ${names.join(", ")}`;
  const [from, to] = [held.periods[choice.from][2], held.periods[choice.to][2]];
  return `${byName.get(choice.measure).title}, ${who}, ${choice.from === choice.to ? from : `${from} up to ${to}`}.`;
}

function sayWhatIsShown(choice, refused) {
  const measure = byName.get(choice.measure);
  const wrong = [...new Set(refused.map(key => KEYS.get(key) ?? "something unknown"))].join(", ");
  const trouble = wrong ? `The address asked for something that is not here (${wrong}); this is shown instead. ` : "";
  const to = held.periods[choice.to][2];
  at("said").textContent = `${trouble}Shown: ${wordsOf(choice)}`;
  at("question").textContent = measure.question;
  at("definition").href = `service.html#definition-${measure.name}`;
  at("key").textContent = measure.caption + " Hollow: so far.";
  at("curve-key").textContent = curveOf(choice, "wide") ? `How the share grew, day by day, in ${to}.` : "";
  at("figures-caption").textContent = `The figures shown: ${wordsOf(choice)}`;
  at("days-caption").textContent = `${measure.title}: share by day, ${to}`;
}

function cell(kind, text, attributes = {}) {
  const made = Object.assign(document.createElement(kind), attributes);
  made.textContent = text;
  return made;
}

function lineOfTable(...cells) {
  const line = document.createElement("tr");
  line.append(...cells);
  return line;
}

// A body for each group, under its name.
function showTable(choice) {
  const bodies = chosenOf(choice).map(([level, label]) => {
    const body = document.createElement("tbody");
    if (choice.split !== "all") body.append(lineOfTable(cell("th", label, {scope: "rowgroup", colSpan: 2})));
    seriesOf(choice, level).forEach((row, place) => {
      const period = held.periods[choice.from + place][1] + (row && !row[COMPLETE] ? " so far" : "");
      body.append(lineOfTable(cell("th", period, {scope: "row"}), cell("td", row ? row[SENTENCE] : "None eligible.")));
    });
    return body;
  });
  at("figures").querySelectorAll("tbody").forEach(body => body.remove());
  at("figures").append(...bodies);
  at("small").hidden = !chosenOf(choice).some(([level]) => seriesOf(choice, level).some(row => row?.[SMALL]));
}

// What the curves say on a few days, in the edition's words.
function showDays(choice) {
  const groups = chosenOf(choice).filter(([level]) => curveAt(choice, level)?.steps.length);
  at("days").hidden = !groups.length;
  const heads = groups.map(([, label]) => cell("th", choice.split === "all" ? held.periods[choice.to][1] : label, {scope: "col"}));
  at("days").querySelector("thead").replaceChildren(lineOfTable(cell("th", "Day", {scope: "col"}), ...heads));
  at("days").querySelector("tbody").replaceChildren(...held.curve_days.map((day, place) => lineOfTable(
    cell("th", day, {scope: "row"}), ...groups.map(([level]) => cell("td", curveAt(choice, level).by_day[place])))));
}

// --- The way from a choice to a page.

let current, drawn;

function drawCharts() {
  drawn = at("shown").clientWidth;
  const [frame, words] = [frameOf(at("shown")), wordsOf(current)];
  draw(at("chart"), figureOf(current, frame), `Chart by quarter: ${words} Every figure stands in the table that follows.`);
  draw(at("curve"), curveOf(current, frame), `Chart by day: ${words} Shares by day stand in a table that follows.`);
}

function show(choice, refused) {
  current = choice;
  showControls(choice);
  sayWhatIsShown(choice, refused);
  drawCharts();
  showTable(choice);
  showDays(choice);
}

at("choice").addEventListener("change", event => {
  const choice = choiceOfControls(event.target.id);
  // Whoever goes on with the keyboard stays where they were.
  const [id, value] = [event.target.id, event.target.value];
  history.replaceState(null, "", addressOf(choice));
  show(choice, []);
  const again = id ? at(id) : [...at("groups").querySelectorAll("input")].find(box => box.value === value);
  again?.focus();
});
at("choice").addEventListener("submit", event => event.preventDefault());
window.addEventListener("hashchange", () => {
  if (isPlace(location.hash)) history.replaceState(null, "", addressOf(current));
  else show(...choiceOf(location.hash));
});
// A phone says it has another size whenever its address bar comes and goes.
window.addEventListener("resize", () => { if (at("shown").clientWidth !== drawn) drawCharts(); });
at("choose").hidden = at("shown").hidden = false; // without scripts there is nothing to choose
show(...choiceOf(location.hash));
