"use strict";
// The bar at the top: what is kept, what is not exported yet, export and reading back.

// The files that `firstglow readings` reads: docs/readings.md.
const tabletExport = (() => {
  const when = (at) => new Date(at).toISOString();

  // Written as spreadsheets read it; nothing that could pass for a formula stands at the front,
  // except the sign of a number.
  function cell(text) {
    let safe = String(text);
    if (/^[=+\-@\t\r]/.test(safe) && tabletLaw.readWritten(safe, "").value === null) {
      safe = `'${safe}`;
    }
    return /[,"\r\n]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
  }

  function rowsOf(page) {
    const entries = tabletStore.entries();
    const filled = (id) => entries[id] && !page.isEmpty(entries[id].text);
    const rows = [];
    page.blanks.forEach((blank, id) => {
      if (filled(id)) {
        rows.push({ kind: "reading", id, label: blank.label, unit: blank.unit,
          text: entries[id].text, value: page.valueOf(id), mark: page.markWord(blank), at: entries[id].at });
      }
    });
    page.ticks.forEach((input, id) => {
      if (filled(id)) {
        rows.push({ kind: "tick", id, label: input.dataset.label, text: "ticked", at: entries[id].at });
      }
    });
    page.words.forEach((field, id) => {
      if (filled(id)) {
        rows.push({ kind: "words", id, label: field.dataset.label, text: entries[id].text, at: entries[id].at });
      }
    });
    for (const [id, entry] of page.withoutPlace()) {
      rows.push({ kind: "without place", was: entry.kind, id, label: entry.label || "",
        unit: entry.unit || "", text: entry.text, at: entry.at });
    }
    return rows;
  }

  function asJson(page) {
    const entries = tabletStore.entries();
    const of = (kind) => rowsOf(page).filter((row) => row.kind === kind).map((row) => {
      const { kind: _, text, at, ...rest } = row;
      const earlier = entries[row.id].earlier;
      return { ...rest, written: text, at: when(at), ...(earlier ? { earlier } : {}) };
    });
    const whole = {
      format: "firstglow readings", version: 1, sheet: page.facts, exported: when(Date.now()),
      readings: of("reading"), ticks: of("tick"), words: of("words"),
      without_place: of("without place"),
    };
    return `${JSON.stringify(whole, null, 1)}\n`;
  }

  function asCsv(page) {
    const { facts } = page;
    const about = [["rig", facts.rig], ["record", facts.record], ["date", facts.date],
      ["steps", facts.steps_v_rms.join(" ")], ["stages", facts.stages.join(" ")],
      ["lamp-W", facts.lamp_w ?? ""], ["lamp-V", facts.lamp_v_rms ?? ""],
      ["without-lamp", facts.without_lamp ? "yes" : "no"]];
    const lines = [["kind", "id", "label", "unit", "reading", "mark", "at"]];
    about.forEach(([name, text]) => lines.push(["sheet", `sheet/${name}`, "", "", text, "", ""]));
    rowsOf(page).forEach((row) => lines.push(
      [row.was || row.kind, row.id, row.label, row.unit || "", row.text,
        row.was ? "without a place" : row.mark || "", when(row.at)]));
    return lines.map((line) => `${line.map(cell).join(",")}\r\n`).join("");
  }

  // The entries of an exported JSON; throws with words for people.
  function entriesOf(text) {
    let whole;
    try {
      whole = JSON.parse(text);
    } catch (error) {
      throw new Error("the file is no JSON; choose the .json that was exported here");
    }
    if (!whole || whole.format !== "firstglow readings" || whole.version !== 1) {
      throw new Error("the file holds no readings of such a sheet; choose the exported .json");
    }
    const entries = {};
    const take = (list, kind) => {
      for (const row of Array.isArray(list) ? list : []) {
        const at = Date.parse(row.at);
        if (typeof row.id === "string" && typeof row.written === "string") {
          entries[row.id] = { kind: kind || String(row.was || "reading"), text: row.written,
            label: String(row.label || ""), unit: String(row.unit || ""), at: Number.isFinite(at) ? at : 1 };
        }
      }
    };
    take(whole.readings, "reading");
    take(whole.ticks, "tick");
    take(whole.words, "words");
    take(whole.without_place, "");
    return { entries, facts: whole.sheet || {} };
  }

  return { asJson, asCsv, entriesOf };
})();

function tabletBar(page) {
  const holder = document.getElementById("readings-bar") || document.body.insertBefore(
    document.createElement("div"), document.body.firstChild);
  const make = (tag, className, text) => {
    const element = document.createElement(tag);
    element.className = className;
    element.textContent = text || "";
    return element;
  };
  holder.className = "readings-bar";
  holder.setAttribute("role", "region");
  holder.setAttribute("aria-label", "Readings");
  const alarm = make("p", "bar-alarm");
  alarm.setAttribute("role", "alert");
  const reminder = make("p", "bar-reminder");
  reminder.setAttribute("role", "status");
  const note = make("p", "bar-note");
  note.setAttribute("role", "status");
  const buttons = make("div", "bar-buttons");
  const lost = make("details", "bar-lost");
  const offers = make("div", "bar-offers");
  holder.replaceChildren(alarm, reminder, buttons, note, offers, lost);

  const button = (text, act) => {
    const made = make("button", "bar-button", text);
    made.type = "button";
    made.addEventListener("click", act);
    return made;
  };

  const clock = (at) => new Date(at).toTimeString().slice(0, 5);

  function fileName(ending) {
    const rig = page.facts.rig.replace(/[^A-Za-z0-9]+/g, "-").replace(/^-|-$/g, "").slice(0, 40);
    const now = new Date();
    const two = (n) => String(n).padStart(2, "0");
    const day = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    return `readings-${rig || "rig"}-${day}-${two(now.getHours())}${two(now.getMinutes())}${two(now.getSeconds())}.${ending}`;
  }

  function save(text, type, ending) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type }));
    link.download = fileName(ending);
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    tabletStore.markExported();
    note.textContent = `Written: ${link.download}. Look that it is among the downloads.`;
    update();
  }

  const picker = make("input", "heard-only");
  picker.type = "file";
  picker.accept = ".json,application/json";
  picker.tabIndex = -1;
  picker.setAttribute("aria-label", "Exported JSON to read back");
  picker.addEventListener("change", () => {
    const file = picker.files[0];
    if (file) {
      file.text().then(readBack).catch(() => {
        note.textContent = "The file could not be read.";
      });
    }
    picker.value = "";
  });

  function readBack(text) {
    try {
      const { entries, facts } = tabletExport.entriesOf(text);
      const taken = tabletStore.takeIn(entries);
      page.fillIn();
      const other = facts.rig !== page.facts.rig ? ` They are of another rig: ${facts.rig}.`
        : facts.record !== page.facts.record ? " They were taken on another state of the record." : "";
      note.textContent = `Read back: ${taken} new, of ${Object.keys(entries).length} in the file.${other}`;
    } catch (error) {
      note.textContent = `Not read back: ${error.message}.`;
    }
    update();
  }

  const afresh = button("Begin afresh", () => {
    if (tabletStore.unsaved()) {
      note.textContent = "Export first: there are readings that are not exported.";
      return;
    }
    if (window.confirm("Empty this sheet? What is on it stays on this tablet under another name, and in the exported file.")) {
      try {
        tabletStore.beginAfresh();
        window.location.reload();
      } catch (error) {
        note.textContent = "Not emptied: this browser would not keep a copy.";
      }
    }
  });
  buttons.append(
    button("Export JSON", () => save(tabletExport.asJson(page), "application/json", "json")),
    button("Export CSV", () => save(tabletExport.asCsv(page), "text/csv", "csv")),
    button("Read back", () => picker.click()), afresh, picker);

  function showLost() {
    const rows = page.withoutPlace();
    lost.hidden = rows.length === 0;
    const list = make("ul", "");
    rows.forEach(([id, entry]) => list.append(
      make("li", "", `${id}: ${entry.text} ${entry.unit || ""}`.trim())));
    lost.replaceChildren(
      make("summary", "", `Readings without a place on this sheet: ${rows.length}. They are kept and exported.`),
      list);
  }

  function update() {
    const keeping = tabletStore.keeping();
    alarm.textContent = keeping.quick === false && keeping.disk !== true
      ? "NOTHING IS KEPT: this browser refuses to store. Export before you close or reload the page, or write on paper."
      : "";
    const count = Object.values(tabletStore.entries()).filter((entry) => !page.isEmpty(entry.text)).length;
    const changed = tabletStore.changed();
    holder.dataset.unsaved = tabletStore.unsaved() ? "yes" : "no";
    holder.dataset.onDisk = keeping.onDisk >= changed && keeping.disk ? "yes" : "no";
    const place = alarm.textContent !== "" ? "" : holder.dataset.onDisk === "yes"
      ? "Kept on this tablet. " : "Being kept. ";
    reminder.textContent = changed === 0
      ? "Nothing filled in yet. What you type stays on this tablet; export it at the end."
      : tabletStore.unsaved()
        ? `${place}NOT EXPORTED since the change at ${clock(changed)}: ${count} entries.`
        : `${place}All ${count} entries are exported.`;
    reminder.classList.toggle("bar-warns", tabletStore.unsaved());
    showLost();
  }

  // Readings of the same rig that were taken on another state of its record.
  function offer(others) {
    offers.replaceChildren();
    for (const other of others) {
      const count = Object.values(other.entries).filter((entry) => !page.isEmpty(entry.text)).length;
      if (count === 0) {
        continue;
      }
      const line = make("p", "bar-offer",
        `On this tablet are ${count} entries of a sheet of this rig made from another state of its record (${other.facts.date || "no date"}). `);
      line.append(button("Take them over", () => {
        const taken = tabletStore.takeIn(other.entries);
        page.fillIn();
        note.textContent = `Taken over: ${taken}. They are judged by this sheet now.`;
        line.remove();
        update();
      }));
      offers.append(line);
    }
    update();
  }

  return { update, offer };
}
