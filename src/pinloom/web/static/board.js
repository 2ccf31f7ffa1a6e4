// The grid of doors and keys. Only what can be seen is in the document, so that a chart of
// thousands of doors and keys scrolls; numbers of rows and columns are told to readers of pages.
"use strict";

class Board {
  constructor(element, data) {
    this.element = element;
    this.doors = data.doors;
    this.keys = data.keys;
    this.openers = data.openers.map((row) => new Set(row));
    this.rows = this.doors.map((_, i) => i);
    this.columns = this.keys.map((_, i) => i);
    this.at = { row: 0, column: 0 };
    this.wide = 34;
    this.high = 30;
    this.side = this.sideWidth();
    this.top = this.topHeight();
    this.build();
    this.draw();
  }

  sideWidth() {
    const longest = Math.max(6, ...this.doors.map((door) => door[0].length));
    return Math.min(this.element.clientWidth * 0.42, 24 + longest * 8.4);
  }

  topHeight() {
    const longest = Math.max(3, ...this.keys.map((key) => key[0].length));
    return Math.min(170, 26 + longest * 8.6);
  }

  build() {
    const board = this.element;
    board.setAttribute("role", "grid");
    board.tabIndex = 0;
    this.inner = make("div", "board-inner", board, { role: "presentation" });
    this.head = make("div", "board-head", this.inner, { role: "row", "aria-rowindex": "1" });
    this.body = make("div", "board-body", this.inner, { role: "rowgroup" });
    board.addEventListener("scroll", () => this.later(), { passive: true });
    window.addEventListener("resize", () => this.later());
    board.addEventListener("keydown", (event) => this.pressed(event));
    board.addEventListener("pointerdown", (event) => this.pointed(event));
    board.addEventListener("focus", () => this.reveal());
  }

  later() {
    if (!this.waiting) {
      this.waiting = window.requestAnimationFrame(() => {
        this.waiting = 0;
        this.draw();
      });
    }
  }

  show(rows, columns) {
    this.rows = rows;
    this.columns = columns;
    this.at.row = Math.max(0, Math.min(this.at.row, rows.length - 1));
    this.at.column = Math.max(0, Math.min(this.at.column, columns.length - 1));
    this.draw();
    this.tell();
  }

  draw() {
    const board = this.element;
    board.setAttribute("aria-rowcount", this.rows.length + 1);
    board.setAttribute("aria-colcount", this.columns.length + 1);
    const width = this.side + this.columns.length * this.wide;
    const height = this.top + this.rows.length * this.high;
    this.inner.style.width = width + "px";
    this.inner.style.height = height + "px";
    this.head.style.height = this.top + "px";
    const first = Math.max(0, Math.floor(board.scrollTop / this.high) - 2);
    const last = Math.min(
      this.rows.length,
      Math.ceil((board.scrollTop + board.clientHeight - this.top) / this.high) + 2,
    );
    const left = Math.max(0, Math.floor(board.scrollLeft / this.wide) - 1);
    const right = Math.min(
      this.columns.length,
      Math.ceil((board.scrollLeft + board.clientWidth - this.side) / this.wide) + 1,
    );
    this.drawHead(left, right);
    const rows = document.createDocumentFragment();
    for (let row = first; row < last; row += 1) {
      rows.append(this.rowOf(row, left, right));
    }
    this.body.replaceChildren(rows);
    this.mark();
  }

  drawHead(left, right) {
    const heads = document.createDocumentFragment();
    const corner = make("div", "corner", heads, { role: "columnheader", "aria-colindex": "1" });
    corner.style.width = this.side + "px";
    corner.style.height = this.top + "px";
    corner.textContent = "door / key";
    for (let column = left; column < right; column += 1) {
      const key = this.keys[this.columns[column]];
      const head = make("div", "head", heads, {
        role: "columnheader",
        "aria-colindex": String(column + 2),
        title: [key[0], key[1] && "under " + key[1], key[2]].filter(Boolean).join(", "),
      });
      head.style.left = this.side + column * this.wide + "px";
      head.style.width = this.wide + "px";
      head.style.height = this.top + "px";
      make("span", "", head).textContent = key[0];
      head.classList.toggle("on", column === this.at.column);
    }
    this.head.replaceChildren(heads);
  }

  rowOf(row, left, right) {
    const index = this.rows[row];
    const door = this.doors[index];
    const line = make("div", "line", null, { role: "row", "aria-rowindex": String(row + 2) });
    line.style.top = row * this.high + "px";
    line.style.height = this.high + "px";
    const name = make("div", "door", line, { role: "rowheader", "aria-colindex": "1" });
    name.style.width = this.side + "px";
    name.textContent = door[0] + (door[2] > 1 ? " × " + door[2] : "");
    name.title = door[1] ? door[0] + ", opening " + door[1] : door[0];
    name.classList.toggle("on", row === this.at.row);
    for (let column = left; column < right; column += 1) {
      const opens = this.openers[index].has(this.columns[column]);
      const cell = make("div", opens ? "cell opens" : "cell", line, {
        role: "gridcell",
        id: "c" + row + "-" + column,
        "aria-colindex": String(column + 2),
      });
      cell.style.left = this.side + column * this.wide + "px";
      cell.style.width = this.wide + "px";
      make("span", "unseen", cell).textContent = opens ? "opens" : "shut";
      this.dress(cell, index, this.columns[column]);
      if (row === this.at.row || column === this.at.column) {
        cell.classList.add("cross");
      }
    }
    return line;
  }

  dress() {}

  mark() {
    const id = "c" + this.at.row + "-" + this.at.column;
    const cell = document.getElementById(id);
    if (cell) {
      cell.classList.add("at");
      this.element.setAttribute("aria-activedescendant", id);
    } else {
      this.element.removeAttribute("aria-activedescendant");
    }
  }

  reveal() {
    const board = this.element;
    const x = this.at.column * this.wide;
    const y = this.at.row * this.high;
    const across = board.clientWidth - this.side - this.wide;
    const down = board.clientHeight - this.top - this.high;
    board.scrollLeft = Math.min(Math.max(board.scrollLeft, x - across), x);
    board.scrollTop = Math.min(Math.max(board.scrollTop, y - down), y);
    this.draw();
  }

  move(row, column) {
    this.at.row = Math.max(0, Math.min(this.rows.length - 1, row));
    this.at.column = Math.max(0, Math.min(this.columns.length - 1, column));
    this.reveal();
    this.tell();
  }

  pressed(event) {
    const { row, column } = this.at;
    const page = Math.max(1, Math.floor((this.element.clientHeight - this.top) / this.high) - 1);
    const end = event.ctrlKey || event.metaKey;
    const moves = {
      ArrowDown: [row + 1, column],
      ArrowUp: [row - 1, column],
      ArrowRight: [row, column + 1],
      ArrowLeft: [row, column - 1],
      PageDown: [row + page, column],
      PageUp: [row - page, column],
      Home: [end ? 0 : row, 0],
      End: [end ? this.rows.length - 1 : row, this.columns.length - 1],
    };
    if (event.key in moves && !event.altKey) {
      event.preventDefault();
      this.step(moves[event.key], event);
    } else if (event.key === "Enter") {
      event.preventDefault();
      this.enter();
    }
  }

  step(to) {
    this.move(to[0], to[1]);
  }

  pointed(event) {
    const cell = event.target.closest(".cell");
    if (cell) {
      const [row, column] = cell.id.slice(1).split("-").map(Number);
      this.move(row, column);
    }
  }

  here() {
    if (!this.rows.length || !this.columns.length) {
      return null;
    }
    const door = this.rows[this.at.row];
    const key = this.columns[this.at.column];
    return { door, key, opens: this.openers[door].has(key) };
  }

  enter() {
    const here = this.here();
    if (here && this.element.dataset.try) {
      const door = encodeURIComponent(this.doors[here.door][0]);
      const key = encodeURIComponent(this.keys[here.key][0]);
      window.location.assign(this.element.dataset.try + "?door=" + door + "&key=" + key);
    }
  }

  tell() {
    const line = document.getElementById("here");
    const here = this.here();
    if (!here) {
      line.textContent = "No door or no key has that in its name.";
      return;
    }
    const door = this.doors[here.door][0];
    const key = this.keys[here.key][0];
    line.textContent =
      "Key " + key + (here.opens ? " opens " : " does not open ") + door + ". " +
      this.openers[here.door].size + " keys open this door.";
  }
}

function make(tag, kind, parent, attributes) {
  const element = document.createElement(tag);
  if (kind) {
    element.className = kind;
  }
  for (const [name, value] of Object.entries(attributes || {})) {
    element.setAttribute(name, value);
  }
  if (parent) {
    parent.append(element);
  }
  return element;
}

// Doors and keys by what their names hold; keys without any door shown can be left out.
function narrow(board) {
  const doors = document.getElementById("doors-with").value.trim().toLowerCase();
  const keys = document.getElementById("keys-with").value.trim().toLowerCase();
  const only = document.getElementById("marked-only").checked;
  const rows = board.doors.flatMap((door, i) =>
    (door[0] + " " + door[1]).toLowerCase().includes(doors) ? [i] : [],
  );
  const used = new Set();
  if (only) {
    for (const row of rows) {
      for (const key of board.openers[row]) {
        used.add(key);
      }
    }
  }
  const columns = board.keys.flatMap((key, i) =>
    key[0].toLowerCase().includes(keys) && (!only || used.has(i)) ? [i] : [],
  );
  board.show(rows, columns);
}

async function openBoard(element, kind) {
  const answer = await fetch(element.dataset.source, { headers: { accept: "application/json" } });
  if (answer.status === 401) {
    pinloom.leave();
    return null;
  }
  const board = new kind(element, await answer.json());
  for (const id of ["doors-with", "keys-with", "marked-only"]) {
    document.getElementById(id).addEventListener("input", () => narrow(board));
  }
  element.dataset.ready = "yes";
  return board;
}

{
  const element = document.getElementById("board");
  if (element && !element.dataset.edit) {
    openBoard(element, Board);
  }
}
