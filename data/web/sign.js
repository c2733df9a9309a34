// A signature drawn with a finger, a pen or the mouse. Without it a name can be typed.
"use strict";

(() => {
  const box = document.getElementById("sign");
  const canvas = document.getElementById("signature");
  const form = box?.querySelector("form");
  if (!form || !canvas) return;
  const pen = canvas.getContext("2d");
  let drawn = false, last = null;
  document.getElementById("drawing").hidden = false;

  function place(event) {
    const box = canvas.getBoundingClientRect();
    return [(event.clientX - box.left) * canvas.width / box.width, (event.clientY - box.top) * canvas.height / box.height];
  }

  function stroke(event) {
    const at = place(event);
    // Pens say how hard they press; others say 0 or a half.
    pen.lineWidth = 3 + 4 * (event.pointerType === "pen" ? event.pressure : 0.5);
    pen.lineCap = pen.lineJoin = "round";
    pen.strokeStyle = "#1A2440";
    pen.beginPath();
    pen.moveTo(...last);
    pen.lineTo(...at);
    pen.stroke();
    last = at;
    drawn = true;
  }

  canvas.addEventListener("pointerdown", (event) => {
    event.preventDefault();
    canvas.setPointerCapture(event.pointerId);
    last = place(event);
    stroke(event);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!last) return;
    for (const part of event.getCoalescedEvents?.() ?? [event]) stroke(part);
  });
  for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => { last = null; });

  document.getElementById("clear").addEventListener("click", () => {
    pen.clearRect(0, 0, canvas.width, canvas.height);
    drawn = false;
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = new FormData(form);
    if (!drawn && !body.get("typed").trim()) {
      bench.say(box.dataset.empty, true);
      return;
    }
    const button = form.querySelector("button[type=submit]");
    button.disabled = true;
    if (drawn) body.append("signature", await new Promise((done) => canvas.toBlob(done, "image/png")), "signature.png");
    const said = await bench.post(form.action, body);
    button.disabled = false;
    if (said.kept && document.documentElement.classList.contains("locked")) {
      const words = document.createElement("p");
      words.className = "lead";
      words.textContent = said.words;
      box.replaceChildren(words);
    } else if (said.kept) location.href = location.pathname.replace(/sign$/, "papers");
  });
})();
