"use strict";
// The blanks of the page: kept while they are filled in, judged at once, exported and read back.
(() => {
  const factsElement = document.getElementById("sheet-facts");
  if (!factsElement) {
    return;
  }
  const facts = JSON.parse(factsElement.dataset.facts);
  const SHAPES = { inside: "✓", outside: "▲", stop: "■", "no verdict": "?", "no number": "✎" };

  const number = (text) => (text === undefined ? null : Number(text));
  const nullIfMissing = (value) => (value === undefined ? null : value);

  const blanks = new Map();
  for (const input of document.querySelectorAll("input[data-blank]")) {
    const data = input.dataset;
    const checks = JSON.parse(data.checks || "[]");
    for (const check of checks) {
      for (const key of ["low", "high", "stop_below", "stop_above"]) {
        check[key] = nullIfMissing(check[key]);
      }
    }
    blanks.set(data.blank, {
      id: data.blank, input, checks, label: data.label, unit: data.unit, why: data.stopWhy || "",
      setting: data.setting !== undefined,
      limits: {
        low: number(data.low), high: number(data.high),
        stop_below: number(data.stopBelow), stop_above: number(data.stopAbove),
      },
      mark: document.getElementById(`mark-${data.blank}`),
    });
  }
  const ticks = new Map();
  for (const input of document.querySelectorAll("input[data-tick]")) {
    ticks.set(input.dataset.tick, input);
  }
  const words = new Map();
  for (const field of document.querySelectorAll("[data-words]")) {
    words.set(field.dataset.words, field);
  }
  const hasPlace = (id) => blanks.has(id) || ticks.has(id) || words.has(id);

  // ---- judgement -------------------------------------------------------------------------------

  const isEmpty = (text) => /^[ \t\r\n\u00a0\u202f]*$/.test(text);

  function valueOf(id) {
    const blank = blanks.get(id);
    return blank ? tabletLaw.readWritten(blank.input.value, blank.unit).value : null;
  }

  const shown = (value) => String(Number(value.toPrecision(3)));

  function sideOf(limits, value) {
    const low = limits.low === null ? limits.stop_below : limits.low;
    return low !== null && value < low ? "below" : "above";
  }

  // One judgement in words; the figure is said where it is not the reading itself.
  function say(judgement, limits, value, figure, why) {
    const side = judgement === "inside" ? "" : sideOf(limits, value);
    const ofFigure = figure === "" ? "" : `${figure}, `;
    if (judgement === "stop") {
      return `STOP, plug out first: ${ofFigure}${side} the limit${why ? ` (${why})` : ""}`;
    }
    if (judgement === "outside") {
      return `outside: ${ofFigure}${side} the band`;
    }
    return judgement === "inside" ? "inside" : "no verdict: nothing predicted";
  }

  // A check that is kept is short: its figure. One that is not says what it looks at.
  function sayCheck({ check, value, judgement }) {
    const figure = check.kind === "share" ? `${shown(100 * value)} %` : `${shown(value)} ${check.unit}`;
    return judgement === "inside" || judgement === "no verdict"
      ? figure : say(judgement, check, value, `${check.label} ${figure}`, check.why);
  }

  // What the mark of a blank says: {kind, text}; kind is empty while nothing was written.
  function markOf(blank) {
    const text = blank.input.value;
    if (isEmpty(text)) {
      return { kind: "", text: "" };
    }
    const { value, fault } = tabletLaw.readWritten(text, blank.unit);
    if (value === null) {
      return { kind: "no number", text: `not read: ${fault}` };
    }
    if (blank.setting) {
      return { kind: "setting", text: "" };
    }
    const judged = tabletLaw.judgeBlank(blank, value, valueOf);
    const lines = [{ judgement: judged.own, text: say(judged.own, blank.limits, value, "", blank.why) },
      ...judged.checks.map((part) => ({ judgement: part.judgement, text: sayCheck(part) }))];
    // The worst is said first; the sort keeps the order of equals.
    lines.sort((a, b) => tabletLaw.weight(b.judgement) - tabletLaw.weight(a.judgement));
    return { kind: judged.worst, text: lines.map((line) => line.text).join("; ") };
  }

  function showMark(blank) {
    const { kind, text } = markOf(blank);
    blank.input.setAttribute("aria-invalid", kind === "no number" ? "true" : "false");
    if (!blank.mark || blank.mark.dataset.said === `${kind}|${text}`) {
      return;
    }
    blank.mark.dataset.said = `${kind}|${text}`;
    blank.mark.dataset.mark = kind;
    blank.mark.className = kind === "" ? "mark" : `mark mark-${kind.replace(" ", "-")}`;
    const shape = document.createElement("span");
    shape.setAttribute("aria-hidden", "true");
    shape.className = "mark-shape";
    shape.textContent = SHAPES[kind] || "";
    blank.mark.replaceChildren(...(text === "" ? [] : [shape, document.createTextNode(` ${text}`)]));
  }

  const showMarks = () => blanks.forEach(showMark);

  // ---- between the page and what is kept --------------------------------------------------------

  const entryText = (id) => {
    const entry = tabletStore.entries()[id];
    return entry ? entry.text : undefined;
  };

  function fillIn() {
    const put = (field, id) => {
      const text = entryText(id);
      if (text !== undefined && field.value !== text) {
        field.value = text;
      }
    };
    blanks.forEach((blank, id) => put(blank.input, id));
    words.forEach(put);
    ticks.forEach((input, id) => {
      input.checked = entryText(id) === "ticked";
    });
    showMarks();
  }

  function listen() {
    blanks.forEach((blank, id) => {
      blank.input.addEventListener("input", () => {
        const { label, unit } = blank;
        tabletStore.put(id, { kind: "reading", text: blank.input.value, label, unit });
        showMarks();
      });
    });
    words.forEach((field, id) => {
      field.addEventListener("input", () => {
        tabletStore.put(id, { kind: "words", text: field.value, label: field.dataset.label });
      });
    });
    ticks.forEach((input, id) => {
      input.addEventListener("change", () => {
        const text = input.checked ? "ticked" : "";
        tabletStore.put(id, { kind: "tick", text, label: input.dataset.label });
      });
    });
  }

  const withoutPlace = () =>
    Object.entries(tabletStore.entries()).filter(([id, entry]) => !hasPlace(id) && !isEmpty(entry.text));

  // ---- start ------------------------------------------------------------------------------------

  const page = {
    facts, blanks, ticks, words, withoutPlace, fillIn, isEmpty, hasPlace,
    valueOf,
    markWord: (blank) => markOf(blank).kind,
  };
  const bar = tabletBar(page);
  tabletStore.open(facts, (elsewhere) => {
    if (elsewhere === true) {
      fillIn();
    }
    bar.update();
  }, (others) => {
    fillIn();
    bar.offer(others);
    document.documentElement.dataset.tablet = "ready";
  });
  fillIn();
  listen();
  bar.update();
  window.addEventListener("beforeunload", (event) => {
    if (tabletStore.unsaved()) {
      event.preventDefault();
    }
  });
})();
