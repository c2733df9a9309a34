// The page that is shown where the bench is not reached: it looks again, and goes on when it is there.
"use strict";

(() => {
  const words = document.getElementById("offline");
  if (!words || performance.getEntriesByType("navigation")[0]?.responseStatus !== 503) return;
  const look = async () => {
    try {
      const answer = await fetch("/worker.js", { method: "HEAD", cache: "no-store", credentials: "omit" });
      if (!answer.ok) throw new Error("not there");
      words.textContent = words.dataset.there;
    } catch {
      setTimeout(look, 3000);
    }
  };
  document.getElementById("again").addEventListener("click", (event) => {
    event.preventDefault();
    location.reload();
  });
  addEventListener("online", look);
  look();
})();
