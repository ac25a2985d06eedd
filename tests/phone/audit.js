// What is wrong with the page as it stands: side scrolling, small buttons, cut words, poor contrast, colour alone.
() => {
  const faults = [];
  const seen = (el) => el.checkVisibility({ visibilityProperty: true }) && el.getBoundingClientRect().width > 0;
  const numbers = (colour) => (colour.match(/rgba?\([^)]*\)/g) || []).map((one) => one.match(/[\d.]+/g).map(Number));
  // WCAG 2.2, relative luminance and contrast ratio
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, k) => sum + v * [0.2126, 0.7152, 0.0722][k], 0);
  const contrast = (a, b) => { const [lo, hi] = [light(a), light(b)].sort((x, y) => x - y); return (hi + 0.05) / (lo + 0.05); };
  const published = [["rgb(0, 0, 0)", 21], ["rgb(118, 118, 118)", 4.54], ["rgb(119, 119, 119)", 4.48]]; // on white
  for (const [colour, ratio] of published) {
    if (Math.abs(contrast(numbers(colour)[0], [255, 255, 255]) - ratio) > 0.005) faults.push(`the formula: ${colour}`);
  }
  const isCold = document.body.classList.contains("cold");
  const greyed = ([r, g, b], el) => { // Filter Effects 1, grayscale(1)
    const v = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    return isCold && el.closest("#page") ? [v, v, v] : [r, g, b];
  };
  const grounds = (el) => {
    for (let at = el; at; at = at.parentElement) {
      const style = getComputedStyle(at);
      const solid = numbers(style.backgroundImage).concat(numbers(style.backgroundColor).filter((c) => c[3] !== 0));
      if (style.backgroundImage !== "none") return numbers(style.backgroundImage);
      if (solid.length) return solid;
    }
    return [[255, 255, 255]];
  };
  let read = 0;
  for (const el of document.body.querySelectorAll("*")) {
    const own = [...el.childNodes].filter((node) => node.nodeType === 3).map((node) => node.data).join("").trim();
    if (!own || !seen(el) || el.closest("template,script")) continue;
    const dialog = document.querySelector("dialog[open]");
    if (dialog && !dialog.contains(el)) continue; // it lies under the dialog's veil
    const style = getComputedStyle(el);
    const size = parseFloat(style.fontSize);
    if (size < 14) faults.push(`small letters: ${own} ${size}`);
    const wanted = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700) ? 3 : 4.5;
    const ink = greyed(numbers(style.color)[0], el);
    const worst = Math.min(...grounds(el).map((ground) => contrast(ink, greyed(ground, el))));
    if (worst < wanted) faults.push(`contrast: ${own} ${worst.toFixed(2)} of ${wanted}`);
    read += 1;
  }
  if (read < 2) faults.push("nothing to read");
  for (const el of document.querySelectorAll("button")) {
    const box = el.getBoundingClientRect();
    if (!seen(el)) continue;
    if (box.width < 44 || box.height < 44) faults.push(`small button: ${el.textContent} ${box.width} x ${box.height}`);
    if (el.scrollWidth > el.clientWidth + 1) faults.push(`cut: ${el.textContent}`);
    if (box.left < -0.5 || box.right > innerWidth + 0.5) faults.push(`beside the screen: ${el.textContent}`);
    if (el.disabled && getComputedStyle(el).borderStyle !== "dashed") faults.push(`disabled by colour alone: ${el.textContent}`);
  }
  for (const el of document.querySelectorAll("h1,p,td,header")) {
    if (seen(el) && el.scrollWidth > el.clientWidth + 1) faults.push(`cut: ${el.textContent.slice(0, 40)}`);
  }
  if (document.documentElement.scrollWidth > innerWidth) faults.push(`side scrolling: ${document.documentElement.scrollWidth}`);
  for (const el of document.querySelectorAll("#page .wire[data-body], dialog[open] .wire[data-body]")) {
    if (!/[a-z]{3}/i.test(el.parentElement.textContent)) faults.push("a colour without its name");
  }
  const marked = new Map();
  for (const el of document.querySelectorAll(".contact button")) {
    const style = getComputedStyle(el);
    const mark = el.className.replace(" told", "");
    marked.set(mark, `${style.borderStyle} ${style.borderWidth} ${style.backgroundColor === style.color ? "" : style.backgroundColor}`);
    if (mark !== "sound" && !el.ariaLabel.includes(mark)) faults.push(`a mark without a word: ${el.textContent}`);
  }
  if (new Set(marked.values()).size !== marked.size) faults.push("marks that look alike");
  const large = parseFloat(getComputedStyle(document.querySelector("h1")).fontSize);
  if (large < 32) faults.push(`the verdict is not large: ${large}`);
  const bar = document.getElementById("bar").getBoundingClientRect();
  const at = scrollY;
  scrollTo(0, document.documentElement.scrollHeight);
  const last = document.getElementById("awake").getBoundingClientRect();
  if (bar.height && last.bottom > bar.top && last.right > bar.left) faults.push("the end lies under the bar");
  scrollTo(0, at);
  return faults;
}
