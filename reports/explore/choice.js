"use strict";
// What is held, and what of it is chosen. Comes in: the JSON of #held, which Python words and describes
// (pipeline/report/pages/explore_page.py), and the choice in the address. Goes out: the choice, its rows and its words.

const held = JSON.parse(document.getElementById("held").textContent);
const byName = new Map(held.measures.map(measure => [measure.name, measure]));
const AT_FIRST = 12; // groups, until others are chosen
const EVERYONE = "all"; // the breakdown, and its one level
// Columns of a row, as Python lays it.
const [PERIOD, VALUE, LOWER, UPPER, LOW, HIGH, COMPLETE, LABEL, SMALL, CELLS, COUNTS] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
// What the address may hold, in the words of the controls.
const KEYS = new Map([["measure", "measure"], ["split", "by group"], ["group", "group"], ["from", "from"], ["to", "to"]]);

const at = id => document.getElementById(id);
const copied = value => JSON.parse(JSON.stringify(value));

const rowsOf = (measure, split, level) => (held.rows[measure]?.[split] ?? {})[level] ?? [];
const splitsOf = measure => held.breakdowns.filter(({name}) => Object.keys(held.rows[measure]?.[name] ?? {}).length);
const splitOf = choice => held.breakdowns.find(({name}) => name === choice.split);
// In order of name, or of age where the groups are ages: never in the order of their figures.
const levelsOf = (measure, split) => held.breakdowns.find(({name}) => name === split).levels
  .filter(([level]) => rowsOf(measure, split, level).length);
const chosenOf = choice => choice.split === EVERYONE ? []
  : levelsOf(choice.measure, choice.split).filter(([level]) => choice.groups.includes(level));
// The first of them, or those kept of the ones before.
const groupsFor = (measure, split, kept = []) => {
  const there = levelsOf(measure, split).map(([level]) => level);
  const still = there.filter(level => kept.includes(level));
  return still.length ? still : there.slice(0, AT_FIRST);
};

// A row or null for each period chosen.
function seriesOf(choice, split, level) {
  const rows = new Map(rowsOf(choice.measure, split, level).map(row => [row[PERIOD], row]));
  return periodsOf(choice).map((_, place) => rows.get(choice.from + place) ?? null);
}
const everyoneOf = choice => seriesOf(choice, EVERYONE, EVERYONE);
const periodsOf = choice => held.periods.slice(choice.from, choice.to + 1);

// A figure in full, each part after the head of its column.
function saysOf(measure, row) {
  return row ? measure.heads.map((head, place) => [head, row[CELLS][place]]).filter(([, text]) => text)
    .map(([head, text]) => row[COUNTS][0] ? `${head}: ${text}` : text).join("; ") : measure.nobody[0];
}

function firstChoice() {
  const last = held.periods.length - 1;
  return {measure: held.first, split: EVERYONE, groups: [EVERYONE], from: Math.max(0, last - held.shown + 1), to: last};
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
  take("split", name => splitsOf(choice.measure).some(split => split.name === name), name => { choice.split = name; });
  const wanted = asked.getAll("group");
  choice.groups = groupsFor(choice.measure, choice.split, wanted);
  if (wanted.join("") === "" && wanted.length) choice.groups = []; // none, said by one without a name
  else if (wanted.some(level => !choice.groups.includes(level))) refused.push("group");
  const place = name => held.periods.findIndex(period => period[0] === name);
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
  if (choice.split !== EVERYONE) (choice.groups.length ? choice.groups : [""]).forEach(level => said.append("group", level));
  said.append("from", held.periods[choice.from][0]);
  said.append("to", held.periods[choice.to][0]);
  return "#" + said;
}

// --- Words, without a number that Python has not worded.

const NAMED = 6; // groups that a sentence names; of more it says how many

function whoOf(choice) {
  const names = chosenOf(choice).map(([, label]) => label);
  if (!names.length) return "everyone";
  const title = splitOf(choice).title.toLowerCase();
  const all = levelsOf(choice.measure, choice.split).length;
  const count = names.length === all ? `all ${all} groups` : `${names.length} of ${all} groups`;
  return `${title}: ${names.length > NAMED ? count : names.join(", ")}`;
}

function whenOf(choice) {
  const [from, to] = [held.periods[choice.from][2], held.periods[choice.to][2]];
  return choice.from === choice.to ? from : `${from} up to ${to}`;
}

const wordsOf = choice => `${byName.get(choice.measure).title}, ${whoOf(choice)}, ${whenOf(choice)}.`;

// What the marks of the chart mean.
function keyOf(choice) {
  const measure = byName.get(choice.measure);
  const last = everyoneOf(choice).at(-1);
  const whole = last?.[LABEL] ? ` (${last[LABEL].replace("<br>", ", ")} in ${held.periods[choice.to][1]})` : "";
  return [
    measure.caption,
    "Hollow: so far.",
    ...chosenOf(choice).length ? [`Dotted line: everyone${whole}. All on one scale.`] : [],
    ...measure.standard ? [`Dashed line: ${measure.standard.replace("<br>", " ")}.`] : [],
  ].join(" ");
}

function curveKeyOf(choice) {
  const [, , to, before] = held.periods[choice.to];
  return [
    `The share by each day since the wait began: ${to} as a whole line`,
    ...before === null ? [] : [`, ${held.periods[before][2]} dashed`],
    ...chosenOf(choice).length ? [`, everyone of ${to} dotted`] : [],
    ".",
  ].join("");
}
