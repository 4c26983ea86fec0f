// What the scripts say, in the page's language: say`${n} pulses` looks "{0} pulses" up in the table that the page carries.
const table = document.getElementById("script-words");
const words = table ? JSON.parse(table.textContent) : {};

export function say(texts, ...values) {
  const english = texts.reduce((whole, text, place) => `${whole}{${place - 1}}${text}`);
  return (words[english] ?? english).replace(/\{(\d+)\}/g, (_, place) => String(values[Number(place)]));
}
