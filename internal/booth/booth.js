(() => {
  "use strict"
  const id = name => document.getElementById(name)
  const paragraph = text => { const p = document.createElement("p"); p.textContent = text; return p }
  // What is kept lives as long as this tab does.
  const keep = (name, value) => { try { sessionStorage.setItem(name, JSON.stringify(value)) } catch { /* the page does without */ } }
  const kept = name => { try { return JSON.parse(sessionStorage.getItem(name)) } catch { return null } }

  // Things to do, in their order: of each show what comes before anything else, then its orders.
  let done = new Set(kept("done") || []), at = kept("at") || 0, dark = false
  let before = null // where the reader was, while what to change is being worked out
  const words = (e, without = "") => { const copy = e.cloneNode(true); copy.querySelectorAll(".vh,.b-mark" + (without && "," + without)).forEach(v => v.remove()); return copy.textContent.trim().replace(/\s+/g, " ") }
  const things = () => [...document.querySelectorAll("#report .show")].flatMap(show => {
    const name = words(show.querySelector("h1"))
    return [...show.querySelectorAll(".first .caution,.orders>li")].map(e => {
      const text = words(e.querySelector(".do p") || e, ".more")
      const more = [...e.querySelectorAll(e.matches("li") ? ".do .t,.ft,.who,.price,.caution" : ".more")].map(x => words(x))
      return {e, name, text, more, key: name + "\n" + text}
    })
  })
  let list = []

  const refresh = () => {
    list = things()
    if (!before) { // else the rest is still to come
      const keys = new Set(list.map(t => t.key))
      done = new Set([...done].filter(key => keys.has(key)))
      keep("done", [...done])
    }
    for (const t of list) {
      if (!t.button) {
        t.button = t.e.querySelector(".b-mark")
        if (!t.button) {
          t.button = document.createElement("button")
          t.button.type = "button"
          t.button.className = "b-mark"
          t.button.textContent = "Done"
          const box = t.e.matches("li") ? t.e.lastElementChild : t.e
          box.append(" ", t.button)
        }
        t.button.onclick = () => mark(t)
      }
      t.button.setAttribute("aria-pressed", done.has(t.key))
      t.e.classList.toggle("b-isdone", done.has(t.key))
    }
    id("b-count").textContent = before ? "What to change is being worked out." : list.length ? `${done.size} of ${list.length} marked done here` : ""
    draw()
  }
  const mark = t => { if (!done.delete(t.key)) done.add(t.key); keep("done", [...done]); refresh() }

  // One at a time.
  const draw = () => {
    const waits = before && !(before.read && list.some(t => t.key == before.read.key))
    if (!waits) {
      at = Math.max(0, Math.min(at, list.length - 1))
      keep("at", at)
    }
    const t = waits ? null : list[at]
    id("b-where").textContent = t ? `${t.name}: ${at + 1} of ${list.length}${done.has(t.key) ? ", done" : ""}` : ""
    id("b-do").textContent = t ? t.text : waits ? "What to change now is being worked out." : "There is nothing to change. " + [...document.querySelectorAll("#report .stamp")].map(e => words(e)).join(", ")
    id("b-more").replaceChildren(...(t ? t.more : waits && before.read ? ["Before the files were saved, this stood here: " + before.read.text] : []).map(paragraph))
    id("b-news").textContent = [...document.querySelectorAll("#b-state .b-wrong p,#b-state .b-news p")].slice(0, 3).map(p => words(p) + (p.matches(".b-news p:first-child") ? ":" : "")).join(" ")
    id("b-night").classList.toggle("b-isdone", !!t && done.has(t.key))
  }
  const go = to => { if (!before) at = to; draw() }
  const turn = on => {
    dark = on
    keep("dark", on)
    document.documentElement.classList.toggle("b-isdark", on)
    id("b-night").hidden = !on
    if (on) { draw(); id("b-night").focus() } else id("b-dark").focus()
  }
  id("b-dark").onclick = () => turn(true)
  id("b-leave").onclick = () => turn(false)
  id("b-back").onclick = () => go(at - 1)
  id("b-next").onclick = () => go(at + 1)
  id("b-done").onclick = () => list[at] && mark(list[at])
  const keys = {
    ArrowRight: () => go(at + 1), PageDown: () => go(at + 1), " ": () => go(at + 1), n: () => go(at + 1),
    ArrowLeft: () => go(at - 1), PageUp: () => go(at - 1), b: () => go(at - 1),
    Home: () => go(0), End: () => go(list.length - 1), x: () => list[at] && mark(list[at]), Escape: () => turn(false),
  }
  document.addEventListener("keydown", e => {
    if (e.ctrlKey || e.altKey || e.metaKey || /INPUT|SELECT|TEXTAREA/.test(e.target.tagName)) return
    const name = e.key.length == 1 ? e.key.toLowerCase() : e.key
    if (!dark) { if (name == "d") { e.preventDefault(); turn(true) } return }
    if (name == " " && e.target.tagName == "BUTTON") return
    if (keys[name]) { e.preventDefault(); keys[name]() }
  })

  // The next state takes the place of this one; what is unfolded stays so.
  let state = Number(id("b-state").dataset.state)
  const place = d => [...document.querySelectorAll("#report details")].filter(x => x.open == d).map(x => words(x.querySelector("summary")))
  const take = text => {
    const next = new DOMParser().parseFromString(text, "text/html")
    const was = before || {read: list[at], open: new Set(place(true)), top: top(), focus: focused()}
    for (const name of ["b-state", "report"]) id(name).replaceWith(document.adoptNode(next.getElementById(name)))
    const shapes = next.querySelector("body>svg"), old = document.querySelector("body>svg")
    if (old) old.remove()
    if (shapes) id("report").before(document.adoptNode(shapes))
    document.title = next.title
    for (const d of document.querySelectorAll("#report details")) d.open = was.open.has(words(d.querySelector("summary")))
    before = "soon" in id("b-state").dataset ? was : null
    const same = was.read ? things().findIndex(t => t.key == was.read.key) : -1
    if (same >= 0) at = same
    refresh()
    const back = was.focus && id(was.focus.id)
    if (back && document.activeElement == document.body) [...back.querySelectorAll(reached)][was.focus.nth]?.focus({preventScroll: true})
    if (was.top && id(was.top.id)) scrollBy(0, id(was.top.id).getBoundingClientRect().top - was.top.y)
  }
  // Where the reader is: the last thing with a name above the middle, and what has the focus.
  const top = () => {
    const e = [...document.querySelectorAll("#report [id]:not(svg *)")].filter(e => e.getClientRects().length && e.getBoundingClientRect().top < innerHeight / 2).pop()
    return scrollY && e ? {id: e.id, y: e.getBoundingClientRect().top} : null
  }
  const reached = "a[href],summary,button,[tabindex]"
  const focused = () => {
    const host = document.activeElement.closest("#report [id]")
    return host && {id: host.id, nth: [...host.querySelectorAll(reached)].indexOf(document.activeElement)}
  }
  const follow = async () => {
    for (;;) {
      try {
        const r = await fetch("state?after=" + state, {cache: "no-store"})
        if (r.status == 200) {
          take(await r.text())
          state = Number(r.headers.get("Booth-State"))
          id("b-link").textContent = "Read at " + new Date().toLocaleTimeString() + "."
        } else if (r.status != 204) throw r.status
        else if (id("b-link").dataset.lost) id("b-link").textContent = ""
        delete id("b-link").dataset.lost
      } catch {
        id("b-link").dataset.lost = "1"
        id("b-link").textContent = "The program has ended. This is what it said last."
        await new Promise(then => setTimeout(then, 1000))
      }
    }
  }

  // What would be.
  const form = id("b-ask")
  if (form) form.onsubmit = async e => {
    e.preventDefault()
    const which = id("b-show"), answer = id("b-answer")
    answer.replaceChildren(paragraph("Trying it in memory."))
    try {
      const r = await fetch("ask?show=" + (which ? which.value : 0) + "&question=" + encodeURIComponent(id("b-question").value))
      const said = await r.json()
      answer.replaceChildren(...(said.mistake ? [said.mistake] : said.lines).map(paragraph))
    } catch { answer.replaceChildren(paragraph("The program does not answer.")) }
  }

  refresh()
  if (kept("dark")) turn(true)
  follow()
})()
