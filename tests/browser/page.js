// Looks into a page from inside; returns what is wrong.
() => {
  const wrong = [];

  const ids = [...document.querySelectorAll("[id]")].map((node) => node.id);
  for (const id of new Set(ids)) if (ids.filter((other) => other === id).length > 1) wrong.push(`id ${id} stands more than once`);

  // Contrast by WCAG 2.2, 'relative luminance' and 'contrast ratio'.
  const parse = (colour) => {
    const numbers = colour.match(/[\d.]+/g).map(Number);
    return { rgb: numbers.slice(0, 3), alpha: numbers.length > 3 ? numbers[3] : 1 };
  };
  const luminance = (rgb) => {
    const [r, g, b] = rgb.map((value) => {
      const part = value / 255;
      return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const backdrop = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const { rgb, alpha } = parse(getComputedStyle(at).backgroundColor);
      if (alpha === 1) return rgb;
      if (alpha > 0) wrong.push(`a half transparent background of ${at.tagName}`);
    }
    return matchMedia("(prefers-color-scheme: dark)").matches ? [18, 18, 18] : [255, 255, 255];
  };
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let texts = 0;
  while (walker.nextNode()) {
    const node = walker.currentNode, parent = node.parentElement;
    if (!node.data.trim() || parent.closest("script, style, title")) continue;
    const style = getComputedStyle(parent);
    if (style.display === "none" || style.visibility === "hidden") continue;
    const inPicture = parent.closest("svg");
    const colour = parse(inPicture ? style.fill : style.color);
    const [light, dark] = [luminance(colour.rgb), luminance(backdrop(parent))].sort((a, b) => b - a);
    const ratio = (light + 0.05) / (dark + 0.05);
    const size = parseFloat(style.fontSize), bold = Number(style.fontWeight) >= 700;
    const wanted = size >= 24 || (size >= 18.66 && bold) ? 3 : 4.5;
    texts += 1;
    if (colour.alpha < 1 || ratio < wanted) wrong.push(`contrast ${ratio.toFixed(2)} of "${node.data.trim().slice(0, 40)}"`);
  }
  if (texts < 50) wrong.push(`only ${texts} texts looked at`);

  for (const picture of document.querySelectorAll("svg.chart")) {
    if (picture.getAttribute("role") !== "img" || !(picture.getAttribute("aria-label") || "").trim()) wrong.push("a picture without a text alternative");
    if (!picture.querySelector("title")) wrong.push("a picture without titles in its marks");
    // Words of a picture lie in it.
    const frame = picture.getBoundingClientRect();
    for (const text of picture.querySelectorAll("text")) {
      const box = text.getBoundingClientRect();
      if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1)
        wrong.push(`"${text.textContent.trim()}" reaches out of its picture`);
    }
  }

  const levels = [...document.querySelectorAll("h1, h2, h3, h4")].map((node) => Number(node.tagName[1]));
  if (levels.filter((level) => level === 1).length !== 1) wrong.push("not just one h1");
  levels.forEach((level, i) => { if (i && level > levels[i - 1] + 1) wrong.push("a heading level is left out"); });
  return wrong;
}
