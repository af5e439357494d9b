// What a laid-out page looks like: read from the browser, so that a style sheet cannot pretend.
() => {
  const capital = {};
  const context = document.createElement("canvas").getContext("2d");
  const capShare = (font) => {
    if (!(font in capital)) {
      context.font = `200px ${font}`;
      capital[font] = context.measureText("H").actualBoundingBoxAscent / 200;
    }
    return capital[font];
  };
  const mm = (px) => (px * 25.4) / 96;
  const main = document.querySelector("main").getBoundingClientRect();
  const letters = [];
  const outside = [];
  const clipped = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    const text = node.textContent.trim();
    const element = node.parentElement;
    if (!text || element.closest("style, title, desc")) continue;
    const style = getComputedStyle(element);
    const range = document.createRange();
    range.selectNodeContents(node);
    const box = range.getBoundingClientRect();
    if (!box.width) continue;
    const svg = element.closest("svg.day");
    const scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
    const share = capShare(`${style.fontWeight} 1px ${style.fontFamily}`.replace(/^(\S+) 1px /, ""));
    letters.push([mm(parseFloat(style.fontSize) * share * scale), text.slice(0, 40), element.className.toString()]);
    if (box.right > main.right + 1.5 || box.left < main.left - 1.5) outside.push(`${text.slice(0, 60)} in ${element.outerHTML.slice(0, 120)}`);
    const cell = element.closest("td, th, li, .boxes div, .numbers div");
    if (cell) {
      const around = cell.getBoundingClientRect();
      if (box.right > around.right + 2.5 || box.left < around.left - 2.5) clipped.push(`${text.slice(0, 60)} in ${cell.outerHTML.slice(0, 120)}`);
    }
  }
  return { letters, outside, clipped };
}
