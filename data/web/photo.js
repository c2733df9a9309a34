// Placing points on a photograph: by touch, mouse or pen, moved by the arrow keys one
// pixel at a time, with a loupe. What follows from the points is worked out by the bench.
"use strict";

(() => {
  const board = document.getElementById("board");
  const group = document.getElementById("placing");
  const loupe = document.getElementById("loupe");
  const form = document.querySelector("#marking form");
  const ask = document.getElementById("ask");
  if (!board || !group || !form) return;
  const names = "http://www.w3.org/2000/svg";
  const image = board.querySelector("image");
  const sides = { x: board.viewBox.baseVal.width, y: board.viewBox.baseVal.height };
  // From pixels of the upright picture to those of the picture as it is turned.
  const turn = group.transform.baseVal.consolidate().matrix;
  const most = turn.a === 0 ? { x: sides.y, y: sides.x } : sides;
  const radius = Math.max(sides.x, sides.y) / 90;
  const zoom = 8;
  let points = [], chosen = -1, held = false;

  const wanted = () => form.querySelector("input[name=kind]:checked")?.dataset.points.split("|") ?? [];
  const input = (name) => form.querySelector(`input[name=${name}]`);

  function add(parent, kind, attributes) {
    const element = document.createElementNS(names, kind);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    parent.append(element);
    return element;
  }

  const chosenKind = () => form.querySelector("input[name=kind]:checked")?.value;

  // Which points are joined by lines: a rake's two lines share its tip.
  function pairs() {
    return chosenKind() === "rake" ? [[0, 1], [0, 2]] : [[0, 1], [2, 3]];
  }

  function draw() {
    group.replaceChildren();
    for (const [a, b] of pairs())
      if (points[a] && points[b]) add(group, "line", { x1: points[a].x, y1: points[a].y, x2: points[b].x, y2: points[b].y });
    const [one, other] = points;
    if (other && chosenKind() === "circle")
      add(group, "circle", { cx: one.x, cy: one.y, r: Math.hypot(other.x - one.x, other.y - one.y) });
    if (other && ["crop", "lighten"].includes(chosenKind()))
      add(group, "path", { d: `M${one.x} ${one.y}H${other.x}V${other.y}H${one.x}Z` });
    points.forEach((point, i) => {
      const ring = add(group, "circle", { cx: point.x, cy: point.y, r: radius });
      if (i === chosen) ring.setAttribute("class", "chosen");
    });
    for (let i = 1; i <= 4; i++) {
      input(`x${i}`).value = points[i - 1] ? points[i - 1].x.toFixed(2) : "";
      input(`y${i}`).value = points[i - 1] ? points[i - 1].y.toFixed(2) : "";
    }
    const next = wanted()[points.length];
    ask.textContent = next ? `${points.length + 1}. ${next}` : points.length ? ask.dataset.done : "";
    look();
  }

  // The surroundings of the chosen point, larger, on the side where it is not.
  function look() {
    const point = points[chosen];
    loupe.toggleAttribute("hidden", !point);
    if (!point) return;
    const place = new DOMPoint(point.x, point.y).matrixTransform(turn);
    const scale = board.getBoundingClientRect().width / sides.x;
    const reach = 80 / (zoom * Math.max(scale, 0.02));
    loupe.setAttribute("viewBox", `${place.x - reach} ${place.y - reach} ${2 * reach} ${2 * reach}`);
    loupe.replaceChildren(image.cloneNode());
    add(loupe, "path", { d: `M${place.x - reach} ${place.y}H${place.x + reach}M${place.x} ${place.y - reach}V${place.y + reach}` });
    loupe.classList.toggle("left", place.x > sides.x / 2);
  }

  // A place on the screen in pixels of the upright picture.
  function pixel(event) {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(group.getScreenCTM().inverse());
    return keepInside(at.x, at.y);
  }

  function keepInside(x, y) {
    return { x: Math.min(Math.max(x, 0), most.x), y: Math.min(Math.max(y, 0), most.y) };
  }

  function nearest(at) {
    return points.findIndex((point) => Math.hypot(point.x - at.x, point.y - at.y) < 3 * radius);
  }

  board.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    board.focus({ preventScroll: true }); // or the first touch puts its point elsewhere
    board.setPointerCapture(event.pointerId);
    const at = pixel(event), near = nearest(at);
    if (near >= 0) chosen = near;
    else if (points.length < wanted().length) chosen = points.push(at) - 1;
    else return;
    held = true;
    draw();
  });
  board.addEventListener("pointermove", (event) => {
    if (!held || chosen < 0) return;
    points[chosen] = pixel(event);
    draw();
  });
  for (const end of ["pointerup", "pointercancel"])
    board.addEventListener(end, () => {
      held = false;
      input("x1").dispatchEvent(new Event("input", { bubbles: true })); // it is noted as typed
    });

  // Arrow keys move along the screen, whatever the turn; Enter places the next point in the middle.
  board.addEventListener("keydown", (event) => {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[event.key];
    if (event.key === "Enter" && points.length < wanted().length) {
      const at = new DOMPoint(sides.x / 2, sides.y / 2).matrixTransform(turn.inverse());
      chosen = points.push({ x: at.x, y: at.y }) - 1;
    } else if (event.key === "Backspace" && points.length) {
      points.pop();
      chosen = points.length - 1;
    } else if (/^[1-4]$/.test(event.key) && points[event.key - 1]) {
      chosen = event.key - 1;
    } else if (way && chosen >= 0) {
      const step = event.shiftKey ? 10 : 1;
      // The turn's inverse is its transpose.
      const x = turn.a * way[0] + turn.b * way[1], y = turn.c * way[0] + turn.d * way[1];
      points[chosen] = keepInside(points[chosen].x + step * x, points[chosen].y + step * y);
    } else return;
    event.preventDefault();
    draw();
    input("x1").dispatchEvent(new Event("input", { bubbles: true }));
  });

  // The points that stand in the fields.
  function read() {
    points = [];
    for (let i = 1; i <= wanted().length && input(`x${i}`).value && input(`y${i}`).value; i++)
      points.push(keepInside(Number(input(`x${i}`).value), Number(input(`y${i}`).value)));
  }

  form.addEventListener("change", (event) => {
    if (event.target.name === "kind") {
      points = [];
      chosen = -1;
    } else {
      const at = /^[xy]([1-4])$/.exec(event.target.name);
      if (!at) return;
      read();
      chosen = Math.min(at[1], points.length) - 1;
    }
    show();
  });

  // A field that a kind does not use stays out of the way.
  function show() {
    const measured = ["length", "angle", "rake", "flat"].includes(chosenKind());
    input("length_mm").closest(".field").hidden = chosenKind() !== "scale";
    input("error").closest(".field").hidden = !measured;
    draw();
  }

  document.getElementById("measure").classList.add("placing");
  // The arrow keys are the board's own now.
  board.setAttribute("role", "application");
  board.setAttribute("aria-describedby", "ask");
  read(); // noted before the page was loaded anew
  show();
})();
