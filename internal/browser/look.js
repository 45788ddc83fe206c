// What is wrong with a page: boxes that overlap or are cut, letters that are too small or
// too faint. It answers {Wrong, Texts, Focus}.
(() => {
  const wrong = [], say = text => { if (wrong.length < 60) wrong.push(text) }
  const root = document.documentElement
  if (root.scrollWidth > root.clientWidth + 1) {
    const far = [...document.body.querySelectorAll("*")].filter(e => e.getBoundingClientRect().right > root.clientWidth + 1 && !e.closest(".tw,svg,.vh,.keep")).slice(0, 3)
    say(`the page is ${root.scrollWidth} wide, not ${root.clientWidth}: ` + far.map(e => e.tagName + "." + e.className).join(", "))
  }
  const lifted = e => { for (; e; e = e.parentElement) if (getComputedStyle(e).position == "sticky") return true } // lies on others by design
  const shown = e => e.getClientRects().length > 0
  // Light of a colour, and contrast, by WCAG 2.2.
  const colour = text => { const m = text.match(/[\d.]+/g); return m ? m.map(Number) : [0, 0, 0, 0] }
  const light = c => { const [r, g, b] = c.map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 }); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
  const contrast = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05) }
  const ground = e => { for (; e; e = e.parentElement) { const c = colour(getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] > 0.99) return c.slice(0, 3) } return [255, 255, 255] }

  // Text of the page.
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT)
  const blocks = new Map()
  for (let node; (node = walk.nextNode());) {
    const e = node.parentElement
    if (!node.textContent.trim() || e.closest("svg,script,style,.vh,.skip") || !shown(e)) continue
    const style = getComputedStyle(e), ratio = contrast(colour(style.color).slice(0, 3), ground(e))
    if (ratio < 4.5) say(`contrast ${ratio.toFixed(2)} of "${node.textContent.trim().slice(0, 30)}"`)
    if (parseFloat(style.fontSize) < 11.9) say(`${style.fontSize} letters: "${node.textContent.trim().slice(0, 30)}"`)
    const range = document.createRange()
    range.selectNodeContents(node)
    for (const r of range.getClientRects()) {
      if (!e.closest(".tw") && (r.left < -1 || r.right > root.clientWidth + 1)) say(`cut at the edge of the page: "${node.textContent.trim().slice(0, 30)}"`)
    }
    if (lifted(e)) continue
    const block = e.closest("p,li>span,td,th,h1,h2,h3,h4,summary,dd,dt,strong.stamp,.where>span,.t,pre")
    if (block) blocks.set(block, block.getBoundingClientRect())
  }
  const list = [...blocks].sort((a, b) => a[1].top - b[1].top)
  for (let i = 0; i < list.length; i++) {
    for (let k = i + 1; k < list.length && list[k][1].top < list[i][1].bottom - 1; k++) {
      const [a, x] = list[i], [b, y] = list[k]
      if (a.contains(b) || b.contains(a) || a.closest(".tw") || b.closest(".tw")) continue
      if (Math.min(x.right, y.right) - Math.max(x.left, y.left) > 1.5 && Math.min(x.bottom, y.bottom) - Math.max(x.top, y.top) > 2) say(`"${a.textContent.trim().slice(0, 24)}" lies on "${b.textContent.trim().slice(0, 24)}"`)
    }
  }

  // Labels in pictures.
  let texts = 0
  for (const svg of document.querySelectorAll("svg.pic")) {
    if (!shown(svg)) continue
    const frame = svg.getBoundingClientRect(), scale = frame.width / svg.viewBox.baseVal.width
    const boxes = []
    for (const text of svg.querySelectorAll("text")) {
      texts++
      const b = text.getBoundingClientRect(), words = text.textContent
      const told = text.getAttribute("font-size"), size = parseFloat(getComputedStyle(text).fontSize)
      if (told && Math.abs(told - size) > 0.01) say(`${svg.id}: "${words}" is told to be ${told} px and is ${size}`)
      if (size * scale < 9.9 && !text.matches(".mt,.mto") ) say(`${svg.id}: "${words}" is ${(size * scale).toFixed(1)} px`)
      if (b.left < frame.left - 1.5 || b.right > frame.right + 1.5 || b.top < frame.top - 2 || b.bottom > frame.bottom + 2) say(`${svg.id}: "${words}" is cut: ${[b.left - frame.left, b.top - frame.top, frame.right - b.right, frame.bottom - b.bottom].map(v => v.toFixed(0))}`)
      // A box has the height of the letters' line; what shows is about three quarters of it.
      const inset = b.height * 0.16
      for (const [o, other] of boxes) {
        if (Math.min(b.right, o.right) - Math.max(b.left, o.left) > 1 && Math.min(b.bottom - inset, o.bottom) - Math.max(b.top + inset, o.top) > 1) say(`${svg.id}: "${words}" lies on "${other}"`)
      }
      boxes.push([{left: b.left, right: b.right, top: b.top + inset, bottom: b.bottom - inset}, words])
    }
  }
  return {Wrong: wrong, Texts: texts, Focus: document.querySelectorAll("a[href],summary").length}
})()
