"use strict";
// From a point to the cases behind it, by mouse, thumb or keyboard. Comes in: a figure that is drawn. Goes out: an element
// over each point, one stop of the keyboard for them all; the page of records, or how to have them listed.

// Only the cases of the period reported stand in trace.html, each figure of it in a place of its own
// (level_key in pipeline/report/views/behind/traced_levels.py).
const recordsOf = (choice, level, place) => held.periods[place][0] !== held.period ? ""
  : `trace.html#${choice.measure}${level === EVERYONE ? "" : `-${choice.split}-${encodeURIComponent(level)}`}`;

// For a shell: what a name holds can end no quotation.
const quoted = text => /^[\w.-]+$/.test(text) ? text : /^[\p{L}\p{N} _.-]+$/u.test(text) ? `"${text}"` : `'${text.replaceAll("'", "'\\''")}'`;

function commandOf(choice, level, place) {
  const group = level === EVERYONE ? "" : ` --breakdown ${choice.split} --level ${quoted(level)}`;
  return `feeding-audit trace ${choice.measure} ${held.periods[place][0]}${group}`;
}

// Where a point stands in its drawing, in pixels, from what the layout states.
function standsAt(layout, trace, at) {
  const along = (axis, size, value) => {
    const [low, high] = axis.domain ?? [0, 1];
    return (low + (value - axis.range[0]) / (axis.range[1] - axis.range[0]) * (high - low)) * size;
  };
  const {l, r, t, b} = layout.margin;
  const axis = name => layout[name.replace(/^([xy])/, "$1axis")];
  const high = layout.height - t - b;
  return [l + along(axis(trace.xaxis ?? "x"), layout.width - l - r, trace.x[at]), t + high - along(axis(trace.yaxis ?? "y"), high, trace.y[at])];
}

function openBehind(choice, level, place, byThumb) {
  const records = recordsOf(choice, level, place);
  // A thumb cannot hover: it is first told what the point is.
  if (records && !byThumb) {
    history.replaceState({level, place}, ""); // the point to stand at again after the way back
    location.href = records;
    return;
  }
  const [split, label] = level === EVERYONE ? [EVERYONE, "everyone"] : levelsOf(choice.measure, choice.split).find(([name]) => name === level);
  const row = seriesOf(choice, level === EVERYONE ? EVERYONE : choice.split, split)[place - choice.from];
  const measure = byName.get(choice.measure);
  at("behind-said").textContent = `${measure.title}, ${held.periods[place][2]}, ${label}. ${saysOf(measure, row)}.`;
  at("behind-here").hidden = !records;
  at("behind-typed").hidden = Boolean(records);
  if (records) at("behind-link").href = records;
  if (!records) at("behind-command").textContent = commandOf(choice, level, place);
  at("behind").hidden = false;
  at("behind").focus({preventScroll: true});
  at("behind").scrollIntoView({block: "nearest"});
}

// One element over each point that has cases behind it. The mouse goes through them to the drawing.
function layPoints(element, over, figure, choice) {
  const measure = byName.get(choice.measure);
  const labels = new Map([[EVERYONE, "everyone"], ...chosenOf(choice)]);
  const groups = figure.data.flatMap((trace, number) => trace.meta === undefined ? [] : [{trace, number}]);
  over.replaceChildren(...groups.map(({trace, number}) => {
    const list = document.createElement("div");
    list.setAttribute("role", "group");
    list.dataset.level = trace.meta;
    list.setAttribute("aria-label", labels.get(trace.meta));
    const series = seriesOf(choice, trace.meta === EVERYONE ? EVERYONE : choice.split, trace.meta);
    trace.y.forEach((value, place) => {
      if (value === null) return;
      const records = recordsOf(choice, trace.meta, choice.from + place);
      const point = document.createElement(records ? "a" : "button");
      if (records) point.href = records;
      else point.type = "button";
      const [x, y] = standsAt(figure.layout, trace, place);
      point.style.left = `${x}px`;
      point.style.top = `${y}px`;
      point.dataset.place = place;
      point.tabIndex = -1;
      point.setAttribute("aria-label", `${periodsOf(choice)[place][1]}, ${labels.get(trace.meta)}: ${saysOf(measure, series[place])}. ${
        records ? "Open the cases behind it" : "How to list the cases behind it"}`);
      point.addEventListener("focus", () => {
        over.querySelectorAll("[tabindex='0']").forEach(other => { other.tabIndex = -1; });
        point.tabIndex = 0;
        Plotly.Fx.hover(element, [{curveNumber: number, pointNumber: place}], `${trace.xaxis ?? "x"}${trace.yaxis ?? "y"}`);
      });
      point.addEventListener("blur", () => Plotly.Fx.unhover(element));
      point.addEventListener("click", event => {
        event.preventDefault();
        openBehind(choice, trace.meta, choice.from + place, false);
      });
      list.append(point);
    });
    return list;
  }));
  const newest = over.querySelector("div:not(:empty)")?.lastElementChild;
  if (newest) newest.tabIndex = 0;
}

// Left and right along a line, up and down from group to group; Home and End.
function movedTo(over, point, key) {
  const lists = [...over.children].filter(list => list.childElementCount);
  const row = lists.indexOf(point.parentElement);
  const points = [...point.parentElement.children];
  const place = points.indexOf(point);
  const away = other => Math.abs(other.dataset.place - point.dataset.place);
  const beside = list => list && [...list.children].reduce((near, other) => away(other) < away(near) ? other : near);
  return {ArrowLeft: () => points[place - 1], ArrowRight: () => points[place + 1], Home: () => points[0], End: () => points.at(-1),
    ArrowUp: () => beside(lists[row - 1]), ArrowDown: () => beside(lists[row + 1])}[key]?.();
}

// The point of a group at a place of its line, if it is still drawn.
const pointAt = (over, level, place) => [...over.children].find(list => list.dataset.level === level)?.querySelector(`[data-place="${place}"]`);
