// The terminal measures its font once: it is started when the font is there, so that the grid never shifts.
"use strict";
const box = document.getElementById("terminal");
const faces = ["16px 'Roboto Mono'", "bold 16px 'Roboto Mono'", "italic 16px 'Roboto Mono'"];
const start = () => {
  box.classList.add("textual-terminal");
  const script = document.createElement("script");
  script.src = "/screens/textual.js";
  script.onload = () => { if (document.readyState === "complete") window.onload(); };
  document.head.append(script);
};
Promise.all(faces.map((face) => document.fonts.load(face))).then(start, start);
