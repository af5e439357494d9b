// Where the ink of every text of the drawn day lies, read from the browser; and its columns' blocks.
() => {
  const context = document.createElement("canvas").getContext("2d");
  const found = [];
  for (const svg of document.querySelectorAll("svg.day")) {
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    for (const text of svg.querySelectorAll("text")) {
      if (text.getAttribute("aria-hidden") || !text.textContent.trim()) continue;
      const style = getComputedStyle(text);
      context.font = `${style.fontWeight} ${parseFloat(style.fontSize) * scale}px ${style.fontFamily}`;
      const ink = context.measureText(text.textContent);
      const box = text.getBoundingClientRect();
      const up = ink.actualBoundingBoxAscent;
      const down = ink.actualBoundingBoxDescent;
      const at = text.getScreenCTM();
      const x = at.a * text.x.baseVal[0].value + at.c * text.y.baseVal[0].value + at.e;
      const y = at.b * text.x.baseVal[0].value + at.d * text.y.baseVal[0].value + at.f;
      const turned = text.hasAttribute("transform");
      found.push(
        turned
          ? { text: text.textContent, left: x - down, right: x + up, top: box.top, bottom: box.bottom }
          : { text: text.textContent, left: box.left, right: box.right, top: y - up, bottom: y + down },
      );
    }
  }
  const over = [];
  for (let i = 0; i < found.length; i++) {
    for (let j = i + 1; j < found.length; j++) {
      const [a, b] = [found[i], found[j]];
      const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (wide > 0.5 && high > 0.5) over.push(`${a.text} | ${b.text}: ${wide.toFixed(1)} × ${high.toFixed(1)}`);
    }
  }
  const right = Math.max(...[...document.querySelectorAll("svg.day")].map((s) => s.getBoundingClientRect().right));
  const outside = found.filter((one) => one.right > right + 1 || one.left < -1).map((one) => one.text);
  return { count: found.length, over, outside, page: document.documentElement.scrollWidth };
}
