"use strict";
// The page: its controls, its words, its tables. Comes in: what is held and chosen. Goes out: what is shown, anew with
// each choice. It words no figure.

// --- The controls. A list that is long has a field that shortens it.

const LONG = 12;
const bare = text => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
const fits = (label, asked) => bare(asked).split(/\s+/).every(word => bare(label).includes(word));

// The options that fit what is typed, with the chosen one whether it fits or not: a list must not choose by itself.
function fill(id, sections, chosen) {
  const field = at(`${id}-find`);
  const lists = sections.map(([title, options]) => [title,
    options.filter(([value, label]) => value === chosen || fits(label, field?.value ?? ""))]).filter(([, options]) => options.length);
  at(id).replaceChildren(...lists.flatMap(([title, options]) => {
    const made = options.map(([value, label]) => new Option(label, value, false, value === chosen));
    if (!title) return made;
    const section = Object.assign(document.createElement("optgroup"), {label: title});
    section.append(...made);
    return [section];
  }));
}

const sectionsOfMeasures = [...new Set(held.measures.map(measure => measure.section))]
  .map(title => [title, held.measures.filter(measure => measure.section === title).map(({name, title: label}) => [name, label])]);

function showControls(choice) {
  fill("measure", sectionsOfMeasures, choice.measure);
  fill("split", [["", splitsOf(choice.measure).map(({name, title}) => [name, title])]], choice.split);
  const periods = held.periods.map((period, place) => [String(place), period[2]]);
  fill("from", [["", periods.slice(0, choice.to + 1)]], String(choice.from));
  fill("to", [["", periods.slice(choice.from)]], String(choice.to));
  const levels = levelsOf(choice.measure, choice.split);
  at("groups").hidden = choice.split === EVERYONE;
  at("groups-long").hidden = levels.length <= LONG;
  const asked = at("groups-long").hidden ? "" : at("groups-find").value;
  at("boxes").replaceChildren(...levels.map(([level, label]) => {
    const box = Object.assign(document.createElement("input"), {type: "checkbox", value: level, checked: choice.groups.includes(level)});
    const line = document.createElement("label");
    line.append(box, " " + label);
    line.hidden = !fits(label, asked);
    return line;
  }));
  at("groups-said").textContent = `${chosenOf(choice).length} of ${levels.length} chosen.`;
}

function foundIn(id) {
  const typed = at(`${id}-find`).value.trim();
  const count = id === "groups" ? at("boxes").querySelectorAll("label:not([hidden])").length
    : [...at(id).querySelectorAll("option")].filter(option => fits(option.label, typed)).length;
  at("found").textContent = typed ? `${count} found.` : "";
}

// What a changed control makes of the choice.
function choiceAfter(control) {
  const choice = {...current};
  if (control.type === "checkbox") {
    const chosen = new Set(choice.groups);
    if (control.checked) chosen.add(control.value);
    else chosen.delete(control.value);
    choice.groups = levelsOf(choice.measure, choice.split).map(([level]) => level).filter(level => chosen.has(level));
    return choice;
  }
  choice[control.id] = control.id === "from" || control.id === "to" ? Number(control.value) : control.value;
  if (!splitsOf(choice.measure).some(({name}) => name === choice.split)) choice.split = EVERYONE;
  if (control.id === "split" || choice.split !== current.split) choice.groups = groupsFor(choice.measure, choice.split);
  else if (choice.groups.length) choice.groups = groupsFor(choice.measure, choice.split, choice.groups);
  return choice;
}

// --- Words and tables.

function sayWhatIsShown(choice, refused) {
  const measure = byName.get(choice.measure);
  const wrong = [...new Set(refused.map(key => KEYS.get(key) ?? "something unknown"))].join(", ");
  const trouble = wrong ? `The address asked for something that is not here (${wrong}); this is shown instead. ` : "";
  at("said").textContent = `${trouble}Shown: ${wordsOf(choice)}`;
  at("question").textContent = measure.question;
  at("definition").href = `service.html#definition-${measure.name}`;
  at("definition").textContent = `Definition of “${measure.title}” in the service edition`;
  at("key").textContent = keyOf(choice);
  at("curve-key").textContent = curveKeyOf(choice);
  const less = tooMany(choice) ? ` Of so many groups the tables hold ${held.periods[choice.to][1]} only; the CSV holds all.` : "";
  at("figures-caption").textContent = `The figures shown: ${wordsOf(choice)}${less}`;
  at("days-caption").textContent = `${measure.title}: share by day`;
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

const tooMany = choice => chosenOf(choice).length > AT_FIRST;

function rowOfTable(choice, head, level, row, place) {
  const texts = row ? row[CELLS] : byName.get(choice.measure).nobody;
  const cells = texts.map(text => cell("td", text));
  const records = row?.[COUNTS][0] ? recordsOf(choice, level, choice.from + place) : "";
  if (records) cells[0].replaceChildren(cell("a", texts[0], {href: records, title: "The cases behind it"}));
  return lineOfTable(cell("th", head, {scope: "row"}), ...cells);
}

// Everyone, then a body for each group under its name; of very many groups one body with the last period of each.
function showTable(choice) {
  const measure = byName.get(choice.measure);
  const groups = [[EVERYONE, EVERYONE, "Everyone"], ...chosenOf(choice).map(([level, label]) => [choice.split, level, label])];
  const periods = periodsOf(choice);
  const soFar = row => row && !row[COMPLETE] ? " so far" : "";
  const bodyOf = (title, lines) => {
    const body = document.createElement("tbody");
    if (groups.length > 1) body.append(lineOfTable(cell("th", title, {scope: "rowgroup", colSpan: measure.heads.length + 1})));
    body.append(...lines);
    return body;
  };
  const byPeriod = ([split, level, label]) => bodyOf(label, seriesOf(choice, split, level)
    .map((row, place) => rowOfTable(choice, periods[place][1] + soFar(row), level, row, place)));
  const bodies = tooMany(choice) ? [byPeriod(groups[0]), bodyOf(`${periods.at(-1)[1]}, each group`, groups.slice(1).map(([split, level, label]) => {
    const row = seriesOf(choice, split, level).at(-1);
    return rowOfTable(choice, label + soFar(row), level, row, periods.length - 1);
  }))] : groups.map(byPeriod);
  const heads = [at("figures").dataset.period, ...measure.heads];
  at("figures").querySelector("thead").replaceChildren(lineOfTable(...heads.map(head => cell("th", head, {scope: "col"}))));
  at("figures").querySelectorAll("tbody").forEach(body => body.remove());
  at("figures").append(...bodies);
  at("small").hidden = !groups.some(([split, level]) => seriesOf(choice, split, level).some(row => row?.[SMALL]));
}

// What the curves say on a few days, in the edition's words: this period with how many it watched, and the year before.
function daysOf(choice) {
  const [to, before] = [choice.to, held.periods[choice.to][3]];
  const groups = [[EVERYONE, EVERYONE, "Everyone"], ...chosenOf(choice).map(([level, label]) => [choice.split, level, label])];
  return groups.filter(([split, level]) => curveAt(choice, split, level, to)?.steps.length).map(([split, level, label]) => {
    const [now, then] = [to, before].map(place => curveAt(choice, split, level, place));
    return {label, lines: held.curve_days.map((day, row) => [day, now.by_day[row], String(now.watched[row]),
      ...before === null ? [] : [then?.by_day[row] ?? byName.get(choice.measure).nobody[0]]])};
  });
}

const daysHeads = choice => [held.periods[choice.to][1], "Waiting and watched as the day began",
  ...held.periods[choice.to][3] === null ? [] : [held.periods[held.periods[choice.to][3]][1]]];

function showDays(choice) {
  const groups = daysOf(choice).slice(0, tooMany(choice) ? 1 : undefined);
  at("days").hidden = !groups.length;
  at("days").querySelector("thead").replaceChildren(
    lineOfTable(...["Day", ...daysHeads(choice)].map(head => cell("th", head, {scope: "col"}))));
  at("days").querySelectorAll("tbody").forEach(body => body.remove());
  at("days").querySelector("table").append(...groups.map(({label, lines}) => {
    const body = document.createElement("tbody");
    if (groups.length > 1) body.append(lineOfTable(cell("th", label, {scope: "rowgroup", colSpan: daysHeads(choice).length + 1})));
    body.append(...lines.map(([day, ...texts]) => lineOfTable(cell("th", day, {scope: "row"}), ...texts.map(text => cell("td", text)))));
    return body;
  }));
}

// --- The way from a choice to a page.

let current, drawn, thumb = false;

const CONFIG = {displayModeBar: false, responsive: false, scrollZoom: false, doubleClick: false, showTips: false};

function draw(element, figure, words) {
  element.hidden = !figure;
  if (!figure) {
    Plotly.purge(element);
    return;
  }
  Object.assign(figure.layout, {hovermode: "closest", dragmode: false, paper_bgcolor: held.paper, plot_bgcolor: held.paper});
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

function drawCharts() {
  drawn = at("shown").clientWidth;
  const [words, figure, curve] = [wordsOf(current), figureOf(current, drawn), curveOf(current, drawn)];
  draw(at("chart"), figure, `Chart by period: ${words} Every figure stands in the table that follows.`);
  draw(at("curve"), curve, `Chart by day: ${words} Shares by day stand in a table that follows.`);
  at("curve-key").hidden = at("save-curve").hidden = !curve;
  layPoints(at("chart"), at("points"), figure, current);
}

function show(choice, refused) {
  current = choice;
  at("behind").hidden = true;
  at("saved").textContent = "";
  showControls(choice);
  sayWhatIsShown(choice, refused);
  drawCharts();
  showTable(choice);
  showDays(choice);
}

function choose(choice, control) {
  history.replaceState(null, "", addressOf(choice));
  show(choice, []);
  // Whoever goes on with the keyboard stays where they were.
  if (control?.type === "checkbox") [...at("boxes").querySelectorAll("input")].find(box => box.value === control.value)?.focus();
  else if (control) at(control.id).focus();
}

at("choice").addEventListener("change", event => {
  if (event.target.type !== "search") choose(choiceAfter(event.target), event.target);
});
at("choice").addEventListener("submit", event => event.preventDefault());
at("choice").addEventListener("input", event => {
  if (event.target.type !== "search") return;
  showControls(current);
  for (const id of event.target.dataset.of.split(" ")) foundIn(id);
});
// Enter takes the first that fits.
at("choice").addEventListener("keydown", event => {
  if (event.key !== "Enter" || event.target.type !== "search" || !event.target.value.trim()) return;
  const [id] = event.target.dataset.of.split(" ");
  const first = [...(id === "groups" ? at("boxes").querySelectorAll("label:not([hidden]) input:not(:checked)") : at(id).options)]
    .find(one => fits(one.label ?? one.parentElement.textContent, event.target.value));
  if (!first) return;
  if (id === "groups") first.checked = true;
  choose(choiceAfter(id === "groups" ? first : {id, value: first.value}), event.target);
});
at("every").addEventListener("click", () => {
  const fitting = [...at("boxes").querySelectorAll("label:not([hidden]) input")].map(box => box.value);
  choose({...current, groups: [...new Set([...current.groups, ...fitting])]}, at("every"));
});
at("none").addEventListener("click", () => choose({...current, groups: []}, at("none")));
at("save").addEventListener("click", event => {
  const {format, what} = event.target.closest("button")?.dataset ?? {};
  if (format === "csv") saveTable(current);
  else if (format) savePicture(current, what, format).catch(() => { at("saved").textContent = "This browser cannot make the picture."; });
});
at("points").addEventListener("keydown", event => {
  const other = movedTo(at("points"), event.target, event.key);
  if (!other) return;
  event.preventDefault();
  other.focus();
});
// Whoever has read how goes back to the point.
at("behind").addEventListener("keydown", event => {
  if (event.key !== "Escape") return;
  at("behind").hidden = true;
  at("points").querySelector("[tabindex='0']")?.focus();
});
window.addEventListener("hashchange", () => {
  if (isPlace(location.hash)) history.replaceState(null, "", addressOf(current));
  else show(...choiceOf(location.hash));
});
// A phone says it has another size whenever its address bar comes and goes.
window.addEventListener("resize", () => { if (at("shown").clientWidth !== drawn) drawCharts(); });
at("choose").hidden = at("shown").hidden = false; // without scripts there is nothing to choose
show(...choiceOf(location.hash));
if (history.state) pointAt(at("points"), history.state.level, history.state.place - current.from)?.focus();
at("chart").addEventListener("pointerdown", event => { thumb = event.pointerType === "touch"; }, true);
at("chart").on("plotly_click", ({points: [{data, pointNumber}]}) => {
  if (data.meta !== undefined) openBehind(current, data.meta, current.from + pointNumber, thumb);
});
