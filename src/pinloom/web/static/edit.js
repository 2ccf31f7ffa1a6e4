// Editing the wanted chart. A change is shown at once and sent with the fingerprint of the chart it
// was made on; when the chart has become another meanwhile, the change is kept here and offered
// again. Changes are sent one after another, in the order in which they were made.
"use strict";

class EditBoard extends Board {
  constructor(element, data) {
    super(element, data);
    this.take(data);
    this.anchor = null;
    this.queue = [];
    this.sending = false;
    this.clash = { doors: new Set(), keys: new Set() };
    element.setAttribute("aria-multiselectable", "true");
    element.addEventListener("dblclick", () => this.toggle());
    document.addEventListener("paste", (event) => this.paste(event));
    document.addEventListener("copy", (event) => this.copy(event));
    this.look();
  }

  take(data) {
    if (data.chart) {
      this.doors = data.chart.doors;
      this.keys = data.chart.keys;
      this.openers = data.chart.openers.map((row) => new Set(row));
    }
    this.seen = data.seen;
    this.doorAt = new Map(this.doors.map((door, i) => [door[0], i]));
    this.keyAt = new Map(this.keys.map((key, i) => [key[0], i]));
    document.getElementById("undo").disabled = !data.back;
    document.getElementById("redo").disabled = !data.forth;
    document.getElementById("make").disabled = !data.edited;
    document.getElementById("drop").disabled = !data.edited;
    for (const field of document.querySelectorAll(".seen")) {
      field.value = data.seen;
    }
  }

  // --- choosing ---

  block() {
    const from = this.anchor || this.at;
    return {
      top: Math.min(from.row, this.at.row),
      bottom: Math.max(from.row, this.at.row),
      left: Math.min(from.column, this.at.column),
      right: Math.max(from.column, this.at.column),
    };
  }

  step(to, event) {
    if (event.shiftKey) {
      this.anchor = this.anchor || { ...this.at };
    } else {
      this.anchor = null;
    }
    this.move(to[0], to[1]);
  }

  pointed(event) {
    const cell = event.target.closest(".cell");
    if (!cell) {
      return;
    }
    const [row, column] = cell.id.slice(1).split("-").map(Number);
    if (event.shiftKey) {
      this.anchor = this.anchor || { ...this.at };
    } else {
      this.anchor = null;
    }
    const touched = event.pointerType === "touch" && row === this.at.row && column === this.at.column;
    this.move(row, column);
    if (touched) {
      this.toggle();
    }
  }

  dress(cell, door, key) {
    if (!this.clash) {
      return;
    }
    if (this.clash.doors.has(this.doors[door][0]) && this.clash.keys.has(this.keys[key][0])) {
      cell.classList.add("clash");
      cell.querySelector(".unseen").textContent += ", in the clash";
    }
  }

  mark() {
    super.mark();
    const box = this.block();
    for (const cell of this.body.querySelectorAll(".cell")) {
      const [row, column] = cell.id.slice(1).split("-").map(Number);
      const inside =
        row >= box.top && row <= box.bottom && column >= box.left && column <= box.right;
      cell.classList.toggle("chosen", inside && Boolean(this.anchor));
      cell.setAttribute("aria-selected", String(inside));
    }
  }

  // --- changing ---

  pressed(event) {
    const command = event.ctrlKey || event.metaKey;
    const key = event.key.toLowerCase();
    if (command && key === "z" && !event.shiftKey) {
      event.preventDefault();
      this.back();
    } else if (command && (key === "y" || key === "z")) {
      event.preventDefault();
      this.forth();
    } else if (key === " " || (key === "x" && !command)) {
      event.preventDefault();
      this.toggle();
    } else if (key === "delete" || key === "backspace") {
      event.preventDefault();
      this.fill(false);
    } else if (key !== "enter") {
      super.pressed(event);
    }
  }

  toggle() {
    const here = this.here();
    if (here) {
      this.fill(!here.opens);
    }
  }

  fill(on) {
    const box = this.block();
    const marks = [];
    for (let row = box.top; row <= box.bottom; row += 1) {
      for (let column = box.left; column <= box.right; column += 1) {
        marks.push([this.rows[row], this.columns[column], on]);
      }
    }
    this.set(marks);
  }

  above(key) {
    const found = [];
    const seen = new Set([key]);
    let master = this.keyAt.get(this.keys[key][1]);
    while (document.getElementById("above").checked && master !== undefined && !seen.has(master)) {
      found.push(master);
      seen.add(master);
      master = this.keyAt.get(this.keys[master][1]);
    }
    return found;
  }

  set(marks) {
    const edits = [];
    for (const [door, key, on] of marks) {
      for (const one of on ? [key, ...this.above(key)] : [key]) {
        if (this.openers[door].has(one) !== on) {
          this.openers[door][on ? "add" : "delete"](one);
          edits.push({ do: "mark", door: this.doors[door][0], key: this.keys[one][0], on });
        }
      }
    }
    this.later();
    this.tell();
    if (edits.length) {
      this.send({ edits });
    }
  }

  back() {
    this.send({ step: "/back" });
  }

  forth() {
    this.send({ step: "/forth" });
  }

  // --- sending ---

  send(work) {
    this.queue.push(work);
    say("");
    if (!this.sending) {
      this.flush();
    }
  }

  async flush() {
    this.sending = true;
    while (this.queue.length) {
      const work = this.queue[0];
      const path = this.element.dataset.write + (work.step || "");
      const fields = { seen: this.seen };
      if (work.edits) {
        fields.edits = JSON.stringify(work.edits);
      }
      let answer;
      try {
        answer = await pinloom.send(path, fields);
      } catch {
        say("The page does not answer. Your change is kept here; it is sent again in a moment.");
        await new Promise((done) => window.setTimeout(done, 2000));
        continue;
      }
      if (answer.status === 401) {
        return;
      }
      const data = await answer.json();
      this.queue.shift();
      if (answer.ok) {
        this.after(data, work, this.queue.length > 0);
      } else {
        this.refused(data, work);
      }
    }
    this.sending = false;
    this.look();
  }

  after(data, work, more) {
    // Marks made meanwhile are newer than what the answer shows.
    this.take(more ? { ...data, chart: undefined } : data);
    if (data.chart) {
      narrow(this);
      return;
    }
    for (const edit of work.edits || []) {
      const door = this.doorAt.get(edit.door);
      const key = this.keyAt.get(edit.key);
      if (door !== undefined && key !== undefined && !more) {
        this.openers[door][edit.on ? "add" : "delete"](key);
      }
    }
    this.later();
    this.tell();
  }

  refused(data, work) {
    const rest = [work, ...this.queue];
    this.queue = [];
    if (data.chart) {
      this.take(data);
      narrow(this);
    }
    const words = (data.findings || [data]).map((one) => one.what + " " + one.do).join(" ");
    const edits = rest.flatMap((one) => one.edits || []);
    say(words + " Your change was not made.", edits.length ? () => this.send({ edits }) : null);
  }

  // --- paste and copy ---

  working(event) {
    return !event.target.closest || !event.target.closest("input, textarea");
  }

  copy(event) {
    if (!this.working(event) || document.activeElement !== this.element) {
      return;
    }
    const box = this.block();
    const lines = [];
    for (let row = box.top; row <= box.bottom; row += 1) {
      const cells = [];
      for (let column = box.left; column <= box.right; column += 1) {
        cells.push(this.openers[this.rows[row]].has(this.columns[column]) ? "x" : "");
      }
      lines.push(cells.join("\t"));
    }
    event.clipboardData.setData("text/plain", lines.join("\n"));
    event.preventDefault();
  }

  paste(event) {
    if (!this.working(event)) {
      return;
    }
    const text = event.clipboardData.getData("text/plain").replace(/\r/g, "").replace(/\n+$/, "");
    const rows = text.split("\n").map((line) => line.split("\t").map((cell) => cell.trim()));
    event.preventDefault();
    if (/^doors?$/i.test(rows[0][0]) && rows[0].length > 1) {
      this.pasteTable(rows);
      return;
    }
    const marks = [];
    rows.forEach((cells, down) => {
      cells.forEach((cell, right) => {
        const row = this.rows[this.at.row + down];
        const column = this.columns[this.at.column + right];
        if (row !== undefined && column !== undefined) {
          marks.push([row, column, cell !== ""]);
        }
      });
    });
    this.set(marks);
  }

  // A table with names: what is new is added, and its marks are set as they stand.
  pasteTable(rows) {
    const keys = rows[0].slice(1);
    const edits = [];
    for (const key of keys) {
      if (key && !this.keyAt.has(key)) {
        edits.push({ do: "key", name: key });
      }
    }
    for (const [door, ...cells] of rows.slice(1)) {
      if (!door) {
        continue;
      }
      if (!this.doorAt.has(door)) {
        edits.push({ do: "door", name: door });
      }
      keys.forEach((key, column) => {
        if (key) {
          edits.push({ do: "mark", door, key, on: Boolean(cells[column]) });
        }
      });
    }
    this.send({ edits });
  }

  // --- the verdict ---

  async look() {
    const seen = this.seen;
    const path = this.element.dataset.write + "/verdict?seen=" + encodeURIComponent(seen);
    let answer;
    try {
      answer = await fetch(path, {
        headers: { accept: "application/json", "x-pinloom-quiet": "1" },
      });
    } catch {
      return;
    }
    if (!answer.ok || this.sending || seen !== this.seen) {
      return;
    }
    const told = await answer.json();
    if (seen !== this.seen || told.answer === "gone") {
      return;
    }
    this.show_verdict(told);
    if (!told.final) {
      window.setTimeout(() => {
        if (seen === this.seen && !this.sending) {
          this.look();
        }
      }, 600);
    }
  }

  show_verdict(told) {
    const kinds = { possible: "good", impossible: "bad", looking: "open", not_found: "open" };
    const place = document.getElementById("verdict");
    place.className = "verdict " + kinds[told.answer];
    place.dataset.answer = told.answer;
    place.dataset.final = told.final ? "yes" : "no";
    const parts = document.createDocumentFragment();
    told.words.forEach((line, i) => {
      make(i ? "p" : "strong", "", parts).textContent = line;
    });
    if (told.repairs.length) {
      make("p", "", parts).textContent = "What would help:";
      const list = make("ul", "repairs", parts);
      for (const one of told.repairs) {
        const item = make("li", "", list);
        if (one.edit) {
          const button = make("button", "", item, { type: "button" });
          button.textContent = one.words.replace(/\.$/, "");
          button.addEventListener("click", () => {
            const door = this.doorAt.get(one.edit.door);
            const key = this.keyAt.get(one.edit.key);
            this.set([[door, key, false]]);
          });
        } else {
          item.textContent = one.words;
        }
      }
    }
    place.replaceChildren(parts);
    this.clash = { doors: new Set(told.doors), keys: new Set(told.keys) };
    this.later();
  }
}

function say(words, again) {
  const place = document.getElementById("note");
  place.textContent = words;
  if (again) {
    const button = make("button", "", place, { type: "button" });
    button.textContent = "Do my change again on this chart";
    button.addEventListener("click", again);
  }
}

(async () => {
  const element = document.getElementById("board");
  const answer = await fetch(element.dataset.source, { headers: { accept: "application/json" } });
  if (!answer.ok) {
    pinloom.leave();
    return;
  }
  const data = await answer.json();
  const board = new EditBoard(element, { ...data.chart, ...data });
  for (const id of ["doors-with", "keys-with", "marked-only"]) {
    document.getElementById(id).addEventListener("input", () => narrow(board));
  }
  const click = (id, call) => document.getElementById(id).addEventListener("click", call);
  click("undo", () => board.back());
  click("redo", () => board.forth());
  const here = (what) => {
    const at = board.here();
    return at && (what === "door" ? board.doors[at.door][0] : board.keys[at.key][0]);
  };
  for (const what of ["door", "key"]) {
    click("rename-" + what, () => {
      const name = here(what);
      const to = name && window.prompt("New name for " + what + " " + name, name);
      if (to && to !== name) {
        board.send({ edits: [{ do: "rename-" + what, name, to }] });
      }
    });
    click("drop-" + what, () => {
      const name = here(what);
      if (name && window.confirm("Remove " + what + " " + name + "? Undo brings it back.")) {
        board.send({ edits: [{ do: "drop-" + what, name }] });
      }
    });
    document.getElementById("add-" + what).addEventListener("submit", (event) => {
      event.preventDefault();
      const field = document.getElementById("new-" + what);
      const edit = { do: what, name: field.value };
      if (what === "key") {
        edit.under = document.getElementById("new-under").value.trim();
      }
      if (field.value.trim()) {
        board.send({ edits: [edit] });
        field.value = "";
      }
    });
  }
  element.dataset.ready = "yes";
})();
