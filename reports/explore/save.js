"use strict";
// What is shown, as a file. Comes in: a choice. Goes out: a table as CSV, a chart as SVG or PNG, each with its title, key,
// cut-off and that it stays inside the service in the file itself. It sends nothing anywhere: the page makes the file.

const WIDE_ENOUGH = 1000; // pixels of a saved chart, whatever the screen

const slug = text => text.normalize("NFKD").replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 40).replace(/^-+|-+$/g, "").toLowerCase();

// `seen-promptly_site-harbour-hub_2024Q3-to-2026Q3`: measure, group and period.
function fileNameOf(choice, what) {
  const names = chosenOf(choice).map(([, label]) => slug(label));
  const who = !names.length ? "everyone" : `${slug(choice.split)}-${names.length > 2 ? `${names.length}-groups` : names.join("-")}`;
  const [from, to] = [held.periods[choice.from][0], held.periods[choice.to][0]];
  const when = what === "curve" ? to : from === to ? from : `${from}-to-${to}`;
  return [slug(choice.measure), what, who, when].filter(Boolean).join("_");
}

const upTo = `Data up to ${held.cut_off}. ${held.inside}`;

function hand(name, link) {
  const out = Object.assign(document.createElement("a"), {download: name, href: link});
  out.click();
  at("saved").textContent = `Saved as ${name}`;
}

// --- CSV

// A cell that a spreadsheet would run as a formula gets an apostrophe, as in every list of this program.
const guarded = text => /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
const cellOf = value => {
  if (value === null || value === undefined) return "";
  if (typeof value === "number") return String(value);
  const text = guarded(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
};

function csvOf(choice) {
  const measure = byName.get(choice.measure);
  const value = measure.days ? "days" : "share";
  const rows = [
    ["Measure", measure.title], ["Question", measure.question], ["Shown", `${whoOf(choice)}; ${whenOf(choice)}`], ["Key", measure.caption],
    ["Service", held.service], ["Data up to", held.cut_off], ["Use", held.inside], [],
    ["group", "period", "months", "so far", "eligible", "known", "met", "not known", value, "lower", "upper", "lowest possible", "highest possible",
      ...measure.heads],
  ];
  const tell = (split, level, label) => seriesOf(choice, split, level).forEach((row, place) => {
    const [name, short] = periodsOf(choice)[place];
    rows.push(row ? [label, name, short, row[COMPLETE] ? "no" : "yes", ...row[COUNTS], row[VALUE], row[LOWER], row[UPPER], row[LOW], row[HIGH], ...row[CELLS]]
      : [label, name, short, "", 0, ...Array(8 + measure.heads.length).fill("")]);
  });
  chosenOf(choice).forEach(([level, label]) => tell(choice.split, level, label));
  tell(EVERYONE, EVERYONE, "Everyone");
  const days = daysOf(choice);
  if (days.length) rows.push([], ["group", "day", ...daysHeads(choice)], ...days.flatMap(({label, lines}) => lines.map(line => [label, ...line])));
  // The mark at the start tells a spreadsheet that this is UTF-8.
  return "\ufeff" + rows.map(row => row.map(cellOf).join(",") + "\r\n").join("");
}

function saveTable(choice) {
  const link = URL.createObjectURL(new Blob([csvOf(choice)], {type: "text/csv;charset=utf-8"}));
  hand(`${fileNameOf(choice, "")}.csv`, link);
  setTimeout(() => URL.revokeObjectURL(link), 10000);
}

// --- Pictures

// The same chart as wide as a slide, with what it is above and what its marks mean below.
function pictureOf(choice, what) {
  const figure = (what === "curve" ? curveOf : figureOf)(choice, WIDE_ENOUGH);
  const measure = byName.get(choice.measure);
  const when = what === "curve" ? `how the wait grew, ${held.periods[choice.to][2]}` : whenOf(choice);
  const above = folded(`${whoOf(choice)}; ${when}`, 140);
  const below = [folded(what === "curve" ? curveKeyOf(choice) : keyOf(choice), 150), plain(`${held.service}. ${upTo}`)].join("<br>");
  const {layout} = figure;
  const size = layout.font.size;
  const [top, foot] = [`<br>${above}`, below].map(text => (text.split("<br>").length * 1.3 + 1) * size);
  const note = {x: 0, xref: "paper", yref: "paper", xanchor: "left", align: "left", showarrow: false, xshift: 8 - layout.margin.l};
  layout.annotations.push(
    {...note, text: plain(measure.title), y: 1, yanchor: "top", yshift: layout.margin.t + top - 4, font: {size: size + 3, weight: 700}},
    {...note, text: above, y: 1, yanchor: "bottom", yshift: layout.margin.t + 6},
    {...note, text: below, y: 0, yanchor: "top", yshift: -layout.margin.b - 6, font: {size: size - 1, color: GREY}});
  layout.height += top + foot;
  layout.margin.t += top;
  layout.margin.b += foot;
  layout.paper_bgcolor = layout.plot_bgcolor = held.paper;
  return figure;
}

// What a reader of the file hears, and what a search of it finds.
function withWords(svg, choice) {
  const words = `${wordsOf(choice)} ${upTo}`;
  return svg.replace(/^<svg[^>]*>/, start => `${start}<title>${plain(words)}</title><desc>${plain(`${keyOf(choice)} ${held.service}.`)}</desc>`);
}

async function savePicture(choice, what, format) {
  const figure = pictureOf(choice, what);
  const size = {width: WIDE_ENOUGH, height: Math.ceil(figure.layout.height)};
  const name = `${fileNameOf(choice, what)}.${format}`;
  if (format === "png") {
    hand(name, await Plotly.toImage(figure, {...size, format, scale: 2}));
    return;
  }
  const svg = await Plotly.toImage(figure, {...size, format, imageDataOnly: true});
  const link = URL.createObjectURL(new Blob([withWords(svg, choice)], {type: "image/svg+xml"}));
  hand(name, link);
  setTimeout(() => URL.revokeObjectURL(link), 10000);
}
