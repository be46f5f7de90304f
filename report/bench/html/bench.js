// Comfort for the bench page; every page works without it.
"use strict";

(function () {
  const pause = 250; // ms after the last key before an amount is echoed

  // Says beside an amount how it is understood. What is wrong with it is said
  // when the field is left: half a number is not wrong yet.
  function echoes(input) {
    const output = document.getElementById(input.id.replace("f-", "e-"));
    let timer = 0, asked = 0;
    async function ask(complain) {
      const text = input.value.trim(), mine = ++asked;
      let answer = {};
      if (text) {
        try {
          const query = new URLSearchParams({column: input.name, text: text});
          answer = await (await fetch("/echo?" + query)).json();
        } catch (e) {
          return; // no answer: the next page says how it was understood
        }
      }
      if (mine !== asked) return; // an answer to an older text
      output.classList.toggle("bad", Boolean(answer.problem));
      output.textContent = answer.text ? "= " + answer.text : complain && answer.problem || "";
      if (answer.text) { // what was wrong with it is put right
        document.getElementById(input.id.replace("f-", "p-"))?.remove();
        input.removeAttribute("aria-invalid");
        input.closest(".field").classList.remove("bad");
      }
    }
    input.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(ask, pause, false); });
    input.addEventListener("change", () => ask(true));
    if (input.value && !output.textContent && !input.hasAttribute("aria-invalid")) ask(true);
  }

  // Offers the newest known labels of a field as buttons, from when it is
  // entered: a list that drops down shows only what fits the text that is there.
  function offers(input) {
    const known = Array.from(input.list.options, o => o.value).slice(0, 6);
    if (known.length < 2) return;
    input.addEventListener("focus", () => {
      const row = document.createElement("div");
      row.className = "offers";
      for (const label of known) {
        const button = document.createElement("button");
        button.type = "button";
        button.className = "quiet";
        button.textContent = label;
        button.addEventListener("click", () => {
          input.value = label;
          input.dispatchEvent(new Event("input", {bubbles: true}));
        });
        row.append(button);
      }
      input.after(row);
    }, {once: true});
  }

  // Keeps half-typed text in this tab until it is saved.
  const prefix = "bench: ", saving = "bench saving";
  function remembers(form) {
    const name = prefix + form.dataset.keep;
    const kept = JSON.parse(sessionStorage.getItem(name) || "{}");
    for (const field of "returned" in form.dataset ? [] : form.elements) {
      if (!(field.name in kept) || field.type === "hidden" || kept[field.name] === field.value) continue;
      field.value = kept[field.name];
      const fold = field.closest("details");
      if (fold) fold.open = true;
    }
    form.addEventListener("input", event => {
      kept[event.target.name] = event.target.value;
      sessionStorage.setItem(name, JSON.stringify(kept));
    });
  }

  // A second press of a button sends nothing twice.
  function sendsOnce(form) {
    form.addEventListener("submit", event => {
      if (form.dataset.sent) return event.preventDefault();
      form.dataset.sent = "yes";
      for (const button of form.querySelectorAll("button")) button.setAttribute("aria-disabled", "true");
      if ("review" in form.dataset) sessionStorage.setItem(saving, form.dataset.keep);
    });
  }
  function free() { // the page was left and is back
    for (const form of document.querySelectorAll("form[data-sent]")) {
      delete form.dataset.sent;
      for (const button of form.querySelectorAll("button")) button.removeAttribute("aria-disabled");
    }
  }

  if (document.querySelector("[data-saved]") && sessionStorage.getItem(saving)) {
    sessionStorage.removeItem(prefix + sessionStorage.getItem(saving));
    sessionStorage.removeItem(saving);
  }
  document.querySelectorAll("form.asked[data-keep]").forEach(remembers);
  document.querySelectorAll("input[data-echo]").forEach(echoes);
  document.querySelectorAll("input[list]").forEach(offers);
  document.querySelectorAll("form[method=post]").forEach(sendsOnce);
  window.addEventListener("pageshow", event => { if (event.persisted) free(); });
})();
