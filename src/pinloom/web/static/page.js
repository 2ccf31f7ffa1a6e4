// What every page does in the browser: it stays awake while somebody works, and locks itself.
// The server decides on its own clock; this only hides what is on the screen in time.
"use strict";

const pinloom = (() => {
  const body = document.body;
  const token = body.dataset.token;

  // A change sent by a script: it carries the token, and comes back as JSON or as a piece of page.
  async function send(path, fields) {
    const form = new URLSearchParams(fields);
    const answer = await fetch(path, {
      method: "POST",
      headers: { "x-pinloom-token": token, accept: "application/json" },
      body: form,
    });
    if (answer.status === 401) {
      leave();
    }
    return answer;
  }

  function leave() {
    window.location.assign("/enter?next=" + encodeURIComponent(window.location.pathname));
  }

  const idle = Number(body.dataset.idle) * 1000;
  if (idle > 0) {
    let last = Date.now();
    let told = Date.now();
    const touched = () => {
      last = Date.now();
      if (last - told > Math.min(60000, idle / 3)) {
        told = last;
        send("/awake", {});
      }
    };
    for (const kind of ["pointerdown", "keydown", "wheel", "touchmove"]) {
      window.addEventListener(kind, touched, { passive: true });
    }
    window.setInterval(async () => {
      if (Date.now() - last >= idle) {
        last = Date.now();
        await send("/lock", {});
        leave();
      }
    }, Math.min(5000, idle / 4));
  }

  // A button that must not be pressed twice: the work may take a while.
  document.addEventListener("submit", (event) => {
    const button = event.submitter || event.target.querySelector("button");
    if (button && !event.defaultPrevented && !event.target.hasAttribute("data-again")) {
      window.setTimeout(() => {
        button.disabled = true;
        button.setAttribute("aria-busy", "true");
      }, 0);
    }
  });
  window.addEventListener("pageshow", () => {
    for (const button of document.querySelectorAll("button[aria-busy]")) {
      button.disabled = false;
      button.removeAttribute("aria-busy");
    }
  });

  return { send, token, leave };
})();

for (const button of document.querySelectorAll("[data-print]")) {
  button.addEventListener("click", () => window.print());
}
