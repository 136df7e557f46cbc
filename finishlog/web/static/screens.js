// The terminal measures its font once: it is started when the font is there, so that the grid never shifts.
"use strict";
const box = document.getElementById("terminal");
const faces = ["16px 'Roboto Mono'", "bold 16px 'Roboto Mono'", "italic 16px 'Roboto Mono'"];
const COLUMNS = 60, BAR = 15, WIDTH = 0.6; // what the screens need, a scroll bar, and a letter's width in its height
box.dataset.fontSize = Math.max(8, Math.min(16, Math.floor((innerWidth - BAR) / COLUMNS / WIDTH)));
const start = () => {
  box.classList.add("textual-terminal");
  const script = document.createElement("script");
  script.src = "/screens/textual.js";
  script.onload = () => { if (document.readyState === "complete") window.onload(); };
  document.head.append(script);
};
Promise.all(faces.map((face) => document.fonts.load(face))).then(start, start);
