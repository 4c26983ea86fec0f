// Plots to move along: the library is fetched only where a page has any, and the still picture stays if it fails.
// Its style elements carry the page's nonce, so that the content security policy need not be loosened for them.
const boxes = [...document.querySelectorAll("[data-moving]")];
const nonce = document.querySelector("script[nonce]")?.nonce ?? "";

function withNonce() {
  const plain = Document.prototype.createElement;
  Document.prototype.createElement = function create(name, ...rest) {
    const made = plain.call(this, name, ...rest);
    if (String(name).toLowerCase() === "style") made.nonce = nonce;
    return made;
  };
}

function library(address) {
  return new Promise((done, failed) => {
    const script = document.createElement("script");
    script.addEventListener("load", done);
    script.addEventListener("error", failed);
    script.src = address;
    document.head.append(script);
  });
}

const GO = {
  left: (a, b) => [a - (b - a) / 4, b - (b - a) / 4],
  right: (a, b) => [a + (b - a) / 4, b + (b - a) / 4],
  in: (a, b) => [a + (b - a) / 4, b - (b - a) / 4],
  out: (a, b) => [a - (b - a) / 2, b + (b - a) / 2],
};

// A finger that leaves the screen ends what it pointed at; the click after it points there again.
function touched(event) {
  const [place] = event.composedPath();
  const { clientX, clientY } = event;
  const move = { isPrimary: true, pointerType: "mouse", clientX, clientY, bubbles: true, composed: true };
  place.dispatchEvent(new PointerEvent("pointermove", move));
}

async function stand(box) {
  const ranges = [];
  const figures = box.querySelector("[data-figures]");
  if (box.dataset.source) {
    const answer = await fetch(box.dataset.source);
    if (!answer.ok) throw new Error(String(answer.status));
    figures.innerHTML = await answer.text();
  }
  figures.hidden = false;
  figures.addEventListener("click", touched);
  for (const place of box.querySelectorAll("[data-figure]")) {
    place.id ||= `figure-${Math.random().toString(36).slice(2)}`;
    const views = await Bokeh.embed.embed_item(JSON.parse(place.dataset.figure), place.id);
    if ("fixed" in place.dataset) continue;
    const range = [...views.roots][0].model.x_range;
    ranges.push([range, range.start, range.end]);
  }
  for (const button of box.querySelectorAll("[data-go]")) {
    button.addEventListener("click", () => {
      for (const one of ranges) {
        const [range] = one;
        if (one[1] == null || Number.isNaN(one[1])) [one[1], one[2]] = [range.start, range.end];
        const [start, end] = button.dataset.go === "all" ? [one[1], one[2]] : GO[button.dataset.go](range.start, range.end);
        range.setv({ start, end });
      }
    });
  }
  box.querySelector("[data-still]").hidden = true;
}

// A figure is built only once its place is near the screen: a page may have a dozen.
async function begin() {
  withNonce();
  await library("/static/plots/bokeh.js");
  Bokeh.set_log_level("error");
  const seen = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) {
      if (!isIntersecting) continue;
      seen.unobserve(target);
      stand(target).catch((fault) => { target.querySelector("[data-figures]").hidden = true; console.warn(fault); });
    }
  }, { rootMargin: "400px" });
  for (const box of boxes) seen.observe(box);
}

if (boxes.length) begin().catch((fault) => console.warn(fault));
