// Touching the same place in two photographs or more: with a loupe, moved by the arrow keys, and with the line on which
// what was touched in one photograph must lie in the others. The cameras are known; the bench works out the rest.
"use strict";

(() => {
  const section = document.getElementById("touching");
  if (!section) return;
  const names = "http://www.w3.org/2000/svg";
  const ask = document.getElementById("ask");
  const form = section.querySelector("form");
  const kinds = [...section.querySelectorAll(".places input")];
  const areas = new Map(kinds.map((kind) => [kind.value, form.querySelector(`textarea[name="${kind.value}"]`)]));
  const zoom = 8, unit = 100;
  const heights = Array.from({ length: 45 }, (_, i) => -4 + 2.5 * i); // over the paper [mm]
  const boards = [...section.querySelectorAll("svg.touch")].map((svg, index) => makeBoard(svg, index));
  const touched = new Map(kinds.map((kind) => [kind.value, boards.map(() => null)]));

  function add(parent, kind, attributes) {
    const element = document.createElementNS(names, kind);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    parent.append(element);
    return element;
  }

  function makeBoard(svg, index) {
    const numbers = svg.dataset.camera.split(" ").map(Number);
    const [focus, cx, cy, b0, b1, half, width, height] = numbers.slice(12);
    const group = svg.querySelector("g");
    return { svg, index, group, image: svg.querySelector("image"), loupe: svg.parentElement.querySelector(".loupe"),
      beside: svg.parentElement.previousElementSibling, unseen: svg.parentElement.nextElementSibling,
      turn: group.transform.baseVal.consolidate().matrix, radius: Math.max(width, height) / 110, held: false,
      camera: { m: [0, 3, 6].map((i) => numbers.slice(i, i + 3)), shift: numbers.slice(9, 12), focus, cx, cy, b0, b1, half, width, height } };
  }

  // Where CAMERA sees a place [mm].
  function see(camera, place) {
    const p = camera.m.map((row, i) => row[0] * place[0] / unit + row[1] * place[1] / unit + row[2] * place[2] / unit + camera.shift[i]);
    if (p[2] <= 0) return null;
    const x = camera.focus * p[0] / p[2], y = camera.focus * p[1] / p[2], r2 = x * x + y * y, bent = 1 + r2 * (camera.b0 + r2 * camera.b1);
    return { x: (x * bent + camera.cx) * camera.half + camera.width / 2, y: (y * bent + camera.cy) * camera.half + camera.height / 2 };
  }

  // The place at HEIGHT mm over the paper that CAMERA sees at a pixel.
  function meet(camera, at, height) {
    const bx = (at.x - camera.width / 2) / camera.half - camera.cx, by = (at.y - camera.height / 2) / camera.half - camera.cy;
    let x = bx, y = by;
    for (let i = 0; i < 12; i++) {
      const r2 = x * x + y * y, bent = 1 + r2 * (camera.b0 + r2 * camera.b1);
      x = bx / bent;
      y = by / bent;
    }
    const column = (i, v) => camera.m[0][i] * v[0] + camera.m[1][i] * v[1] + camera.m[2][i] * v[2];
    const way = [0, 1, 2].map((i) => column(i, [x / camera.focus, y / camera.focus, 1]));
    const eye = [0, 1, 2].map((i) => -column(i, camera.shift));
    const far = (-height / unit - eye[2]) / way[2];
    return eye.map((from, i) => unit * (from + far * way[i]));
  }

  // The line in BOARD on which what was touched at AT in OTHER must lie.
  function lineIn(board, other, at) {
    return heights.map((height) => see(board.camera, meet(other.camera, at, height))).filter(Boolean);
  }

  function distance(at, line) {
    let least = Infinity;
    for (let i = 1; i < line.length; i++) {
      const a = line[i - 1], b = line[i], x = b.x - a.x, y = b.y - a.y;
      const share = Math.min(1, Math.max(0, ((at.x - a.x) * x + (at.y - a.y) * y) / (x * x + y * y || 1)));
      least = Math.min(least, Math.hypot(at.x - a.x - share * x, at.y - a.y - share * y));
    }
    return least;
  }

  const current = () => kinds.find((kind) => kind.checked);
  const isPoint = (at) => at && at !== "unseen";

  function write(key) {
    const all = touched.get(key);
    const any = all.some(isPoint);
    areas.get(key).value = any ? all.map((at) => isPoint(at) ? `${at.x.toFixed(2)}:${at.y.toFixed(2)}` : "0:0").join("\n") : "";
    areas.get(key).dispatchEvent(new Event("input", { bubbles: true })); // it is noted as typed
  }

  // What AREA says of the place KEY, a line for each photograph.
  function read(key, area) {
    const lines = area.value.trim().split("\n");
    boards.forEach((board, i) => {
      const [x, y] = (lines[i] ?? "").split(":").map(Number);
      touched.get(key)[i] = Number.isFinite(x + y) && lines[i] ? (x === 0 && y === 0 ? "unseen" : { x, y }) : null;
    });
  }

  function draw() {
    const key = current().value, points = touched.get(key);
    for (const board of boards) {
      board.group.replaceChildren();
      let off = 0;
      for (const other of boards) {
        if (other === board || !isPoint(points[other.index])) continue;
        const line = lineIn(board, other, points[other.index]);
        add(board.group, "polyline", { class: "must", points: line.map((at) => `${at.x},${at.y}`).join(" ") });
        if (isPoint(points[board.index])) off = Math.max(off, distance(points[board.index], line));
      }
      for (const kind of kinds) {
        const at = touched.get(kind.value)[board.index];
        const from = kind.dataset.line && touched.get(kind.dataset.line)[board.index];
        if (isPoint(at) && isPoint(from)) add(board.group, "line", { x1: from.x, y1: from.y, x2: at.x, y2: at.y });
        if (isPoint(at)) add(board.group, "circle", { cx: at.x, cy: at.y, r: board.radius, class: kind.value === key ? "chosen" : "" });
      }
      board.beside.textContent = off > 8 ? section.dataset.off.replace("%d", Math.round(off)) : "";
      board.unseen.setAttribute("aria-pressed", points[board.index] === "unseen");
      look(board, points[board.index]);
    }
    const next = points.findIndex((at) => at === null), words = current().nextElementSibling.textContent;
    ask.textContent = next < 0 ? ask.dataset.done.replace("%s", words) : ask.dataset.in.replace("%s", words).replace("%d", next + 1);
    for (const kind of kinds) kind.closest("label").classList.toggle("done", !touched.get(kind.value).includes(null));
  }

  function look(board, at) {
    const { loupe, turn, svg, image } = board;
    loupe.toggleAttribute("hidden", !isPoint(at));
    if (!isPoint(at)) return;
    const place = new DOMPoint(at.x, at.y).matrixTransform(turn);
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    const reach = 80 / (zoom * Math.max(scale, 0.02));
    loupe.setAttribute("viewBox", `${place.x - reach} ${place.y - reach} ${2 * reach} ${2 * reach}`);
    const group = board.group.cloneNode(true);
    for (const circle of group.querySelectorAll("circle")) circle.remove();
    loupe.replaceChildren(image.cloneNode(), group);
    add(loupe, "path", { d: `M${place.x - reach} ${place.y}H${place.x + reach}M${place.x} ${place.y - reach}V${place.y + reach}` });
    loupe.classList.toggle("left", place.x > svg.viewBox.baseVal.width / 2);
  }

  function put(board, x, y) {
    const { width, height } = board.camera, key = current().value;
    touched.get(key)[board.index] = { x: Math.min(Math.max(x, 0.01), width), y: Math.min(Math.max(y, 0.01), height) };
    write(key);
    draw();
  }

  function pixel(board, event) {
    return new DOMPoint(event.clientX, event.clientY).matrixTransform(board.group.getScreenCTM().inverse());
  }

  // The next photograph in which the place is wanted, else the next place.
  function goOn(board) {
    const points = touched.get(current().value), next = boards.find((one) => points[one.index] === null);
    if (next) {
      if (next !== board) next.svg.scrollIntoView({ block: "nearest" });
      return;
    }
    const at = kinds.indexOf(current());
    const following = kinds.slice(at + 1).find((kind) => touched.get(kind.value).includes(null));
    if (!following) return;
    following.checked = true;
    draw();
    boards[0].svg.scrollIntoView({ block: "nearest" });
  }

  for (const board of boards) {
    const { svg } = board;
    svg.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      svg.focus({ preventScroll: true });
      svg.setPointerCapture(event.pointerId);
      const at = pixel(board, event), was = touched.get(current().value)[board.index];
      // Beside the point it is moved as the finger moves, so that the finger does not cover it.
      board.held = isPoint(was) && Math.hypot(was.x - at.x, was.y - at.y) < 12 * board.radius ? { x: was.x - at.x, y: was.y - at.y } : { x: 0, y: 0 };
      if (!isPoint(was) || !board.held.x) put(board, at.x + board.held.x, at.y + board.held.y);
    });
    svg.addEventListener("pointermove", (event) => {
      if (!board.held) return;
      const at = pixel(board, event);
      put(board, at.x + board.held.x, at.y + board.held.y);
    });
    for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => { board.held = false; });
    svg.addEventListener("keydown", (event) => {
      const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
      const way = ways[event.key], at = touched.get(current().value)[board.index], { turn } = board;
      if (event.key === "Enter") {
        if (isPoint(at)) goOn(board);
        else put(board, board.camera.width / 2, board.camera.height / 2);
      } else if (event.key === "Backspace") {
        touched.get(current().value)[board.index] = null;
        write(current().value);
        draw();
      } else if (way && isPoint(at)) {
        const step = event.shiftKey ? 10 : event.altKey ? 0.25 : 1;
        put(board, at.x + step * (turn.a * way[0] + turn.b * way[1]), at.y + step * (turn.c * way[0] + turn.d * way[1]));
      } else return;
      event.preventDefault();
    });
    board.unseen.addEventListener("click", () => {
      touched.get(current().value)[board.index] = "unseen";
      write(current().value);
      draw();
      goOn(board);
    });
  }
  // A button beside the places goes on, for those who touch.
  const next = section.querySelector("#next");
  next.addEventListener("click", () => goOn(null));
  section.querySelector(".places").addEventListener("change", draw);
  for (const [key, area] of areas)
    area.addEventListener("change", () => {
      read(key, area);
      draw();
    });
  for (const [key, area] of areas) read(key, area); // noted before the page was loaded anew
  section.classList.add("placing");
  draw();
})();
