// What the job's page does in the browser: a touch on the deck's plan says where in a
// place it was, and the work line shows the station that is open.
"use strict";

(() => {
  // Without the script the link leads to the place alone.
  for (const place of document.querySelectorAll(".deck-plan a")) {
    place.addEventListener("click", (event) => {
      if (event.detail === 0) return; // by a key: there is no point
      const box = place.querySelector(".place").getBoundingClientRect(), address = new URL(place.href.baseVal, location.href);
      const share = (value, from, length) => Math.min(1, Math.max(0, (value - from) / length)).toFixed(2);
      address.searchParams.set("across", share(event.clientX, box.left, box.width));
      address.searchParams.set("along", share(event.clientY, box.top, box.height));
      event.preventDefault();
      location.assign(address);
    });
  }
  const line = document.querySelector("nav.line"), now = line?.querySelector("[aria-current]");
  if (now) line.scrollLeft += now.getBoundingClientRect().left - line.getBoundingClientRect().left - line.clientWidth / 3;
})();
