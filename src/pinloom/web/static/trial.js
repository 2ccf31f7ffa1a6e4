// Try a key without loading the page anew; the key slides in and lifts the pins.
"use strict";

{
  const form = document.getElementById("trial");
  const place = document.getElementById("tried");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  let asked = 0;

  // How far each stack was lifted is told by the page; here it only takes the way up.
  function play() {
    const figure = place.querySelector("figure[data-lift]");
    if (!figure || still.matches) {
      return;
    }
    const svg = figure.querySelector("svg");
    const wide = svg.viewBox.baseVal.width;
    const slide = { duration: 700, easing: "ease-out" };
    for (const part of svg.querySelectorAll(".key, .bow")) {
      part.animate({ transform: [`translateX(${-wide * 0.7}px)`, "none"] }, slide);
    }
    const late = { duration: 350, delay: 450, easing: "ease-in-out", fill: "backwards" };
    const lifts = new Map(
      figure.dataset.lift.trim().split(/\s+/).map((one) => one.split(":")),
    );
    for (const pin of svg.querySelectorAll(".pin")) {
      const lift = Number(lifts.get(pin.dataset.chamber) || 0);
      pin.animate({ transform: [`translateY(${lift}px)`, "none"] }, late);
    }
    for (const text of svg.querySelectorAll(".size, .plate, .spring")) {
      text.animate({ opacity: [0, 0, 1] }, { duration: 850, fill: "backwards" });
    }
    const face = place.querySelector(".turns .plugface");
    if (face) {
      face.animate({ transform: ["rotate(0deg)", "rotate(55deg)"] }, { ...late, delay: 800 });
    }
  }

  async function ask(go) {
    const fields = new FormData(form);
    fields.set("go", go || "");
    asked += 1;
    const mine = asked;
    const answer = await fetch(form.action, {
      method: "POST",
      headers: { "x-pinloom-token": pinloom.token, "x-pinloom-piece": "1", accept: "text/html, application/json;q=0.1" },
      body: new URLSearchParams(fields),
    });
    if (answer.status === 401) {
      pinloom.leave();
      return;
    }
    const text = await answer.text();
    if (mine !== asked) {
      return;
    }
    place.innerHTML = text;
    const now = document.getElementById("now");
    if (now && go) {
      // A button moved on; what a person is typing meanwhile is left alone.
      document.getElementById("door").value = now.dataset.door;
      document.getElementById("key").value = now.dataset.key;
    }
    play();
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const go = event.submitter ? event.submitter.value : "";
    if (go.startsWith("key")) {
      document.getElementById("cuts").value = "";
    }
    ask(go);
  });
  document.getElementById("key").addEventListener("change", () => {
    document.getElementById("cuts").value = "";
    ask("");
  });
  document.getElementById("door").addEventListener("change", () => ask(""));
  play();
}
