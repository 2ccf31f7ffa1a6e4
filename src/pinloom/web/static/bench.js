// The bench without loading pages anew, by keys or by touch. Every check-off is on the disk before
// the page shows it.
"use strict";

{
  const form = document.getElementById("bench");
  const place = document.getElementById("piece");
  let busy = false;

  // What is new, for whoever listens; and the next thing to press, for whoever uses keys.
  function speak() {
    const now = place.querySelector(".chamber");
    document.getElementById("spoken").textContent =
      now.innerText.replace(/\s+/g, " ") + " " + place.querySelector(".bench-top p").innerText;
    const next = ["do", "try-opens", "try-refused"].map((id) => document.getElementById(id));
    (next.find(Boolean) || place.querySelector(".slot[aria-current]")).focus();
  }

  async function send(go) {
    if (busy) {
      return;
    }
    busy = true;
    try {
      const fields = new FormData(form);
      fields.set("go", go);
      const answer = await fetch(form.action, {
        method: "POST",
        headers: { "x-pinloom-token": pinloom.token, "x-pinloom-piece": "1", accept: "text/html, application/json;q=0.1" },
        body: new URLSearchParams(fields),
      });
      if (answer.status === 401) {
        pinloom.leave();
        return;
      }
      const away = answer.headers.get("x-pinloom-go");
      if (away) {
        window.location.assign(away);
        return;
      }
      const text = await answer.text();
      if (answer.ok) {
        place.innerHTML = text;
        speak();
      } else {
        document.open();
        document.write(text);
        document.close();
      }
    } catch {
      window.alert("The page does not answer: nothing was checked off. Is pinloom still running?");
    } finally {
      busy = false;
    }
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    if (event.submitter) {
      send(event.submitter.value);
    }
  });

  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) {
      return;
    }
    const onButton = event.target.closest && event.target.closest("button, a, summary, input");
    const keys = {
      ArrowLeft: "back",
      ArrowRight: "on",
      n: "piece-after",
      N: "piece-after",
      p: "piece-before",
      P: "piece-before",
    };
    let id = keys[event.key];
    if (event.key === "Enter" && !onButton) {
      id = document.getElementById("do") ? "do" : ["try-opens", "try-refused"].find((one) => document.getElementById(one));
    }
    const target = id && document.getElementById(id);
    if (target) {
      event.preventDefault();
      target.click();
    }
  });
}
