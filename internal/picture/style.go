package picture

// Palette is the colours of pages and pictures, by the names that [Style] uses: light,
// dark and print. Every word has a contrast of at least 4.5 to 1 on what it stands on.
const Palette = `:root{color-scheme:light dark;--paper:#f5efe3;--leaf:#fbf7ee;--ink:#26211a;--soft:#564c3e;--rule:#cdc2ac;--hair:#e2d9c6;--acc:#8f1f3a;--acct:#fbf7ee;--wash:#e9e0cd;--lim:#eed9d3;--haze:#d9d3c6;--dusk:#d6cbb6}
@media (prefers-color-scheme:dark){:root{--paper:#1a1714;--leaf:#221e1a;--ink:#ece4d5;--soft:#b3a894;--rule:#4d463b;--hair:#38322a;--acc:#f2a0ab;--acct:#1a1714;--wash:#2d2822;--lim:#43292b;--haze:#3b362e;--dusk:#120f0d}}
@media print{:root{color-scheme:light;--paper:#fff;--leaf:#fff;--ink:#000;--soft:#444;--rule:#999;--hair:#ccc;--acc:#000;--acct:#fff;--wash:#e8e8e8;--lim:#ddd;--haze:#ddd;--dusk:#fff}}
`

// Style is how the classes of pictures look. Labels are never smaller than ten pixels.
const Style = `@font-face{font-family:"narrowed";src:local("DejaVu Sans");size-adjust:86%}@font-face{font-family:"narrowed";font-weight:700;src:local("DejaVu Sans Bold");size-adjust:85%}
.pic{display:block;width:100%;height:auto;overflow:visible;print-color-adjust:exact;-webkit-print-color-adjust:exact}
.keep{position:absolute}.geo *{vector-effect:non-scaling-stroke}
.pic,.sign{font-family:"Helvetica Neue",Helvetica,Arial,"Liberation Sans","narrowed",sans-serif;font-variant-numeric:normal;font-size:10.5px}.pic text,.sign text{fill:var(--ink);unicode-bidi:isolate;white-space:pre}text.m{text-anchor:middle}text.e{text-anchor:end}
.pic text.sub{fill:var(--soft)}.pic text.fnd{fill:var(--acc);font-weight:700}.pic text.lab{font-weight:700}.pic text.onl{fill:var(--paper);font-weight:700}
.seg{stroke:var(--hair);fill:none}.axis,.tick{stroke:var(--soft);fill:none}.grid{stroke:var(--rule);fill:none}
.lim{fill:var(--lim)}.limline{stroke:var(--acc);stroke-dasharray:5 3;fill:none}
.area{fill:var(--wash)}.line{stroke:var(--ink);fill:none;stroke-width:1.8;stroke-linejoin:round}.thin{stroke-width:1.2}.dash{stroke-dasharray:5 3;stroke-width:1.4}.dots{stroke-dasharray:1.5 3;stroke-width:1.4}
.haze{fill:var(--haze)}.box{fill:none;stroke:var(--ink);stroke-width:.8}.hot{fill:var(--acc)}.hotline{stroke:var(--acc);fill:none;stroke-width:1.6}
.empty{fill:none;stroke:var(--soft);stroke-dasharray:1 4;stroke-linecap:round}
.mf{fill:var(--acc)}.mo{fill:var(--paper);stroke:var(--acc);stroke-width:1.6}.pic text.mt,.sign text.mt{fill:var(--acct);font-weight:700}.pic text.mto,.sign text.mto{fill:var(--acc);font-weight:700}
.last{stroke:var(--acc);fill:none;stroke-width:2}.lasto{stroke:var(--acc);fill:none;stroke-width:1.2;stroke-dasharray:3 3}
.run{fill:var(--leaf);stroke:var(--ink);stroke-width:.9}.song{fill:var(--wash);stroke:var(--ink);stroke-width:.9}
.dusk{fill:var(--dusk)}.plate{fill:var(--dusk);opacity:.92}.pplate{fill:var(--paper);opacity:.92}.floor{fill:none;stroke:var(--soft);stroke-width:.8}.drape{fill:none;stroke:var(--soft)}.scr{stroke:var(--ink);stroke-width:5;fill:none}.frame{fill:none;stroke:var(--ink);stroke-width:1.4}.wall{stroke:var(--soft);stroke-width:2;fill:none}
.iso{stroke:var(--ink);stroke-width:.9;stroke-linejoin:round;stroke-opacity:.75}.iso2{fill:none;stroke:var(--ink);stroke-width:1.5;stroke-linejoin:round}
.lit{fill:var(--paper);fill-opacity:.16}.iso:not(.lit){fill:none}
.lamp,.lampo,.lampi,.lampq,.spark{stroke-linecap:round;fill:none;stroke-width:6}.lamp{stroke:var(--ink)}.lampo{stroke:var(--soft);stroke-width:6.4}.lampi{stroke:var(--paper);stroke-width:4.4}.lampq{stroke:var(--acc);stroke-width:2.4}.spark{stroke-width:6.6}.pers{fill:var(--ink)}.off{fill:var(--paper);stroke:var(--soft)}.head,.heado,.headi{stroke-linecap:round;fill:none;stroke:var(--ink);stroke-width:17}.heado{stroke:var(--soft)}.headi{stroke:var(--paper);stroke-width:15}.rim{fill:none;stroke:var(--ink);stroke-width:1.6}.norim{fill:none;stroke:var(--acc);stroke-width:1.6;stroke-dasharray:2 2}
.cam{stroke:var(--ink);fill:none;stroke-width:1.6}.view{stroke:var(--soft);fill:none;stroke-width:.8;stroke-dasharray:6 4}.cutm{stroke:var(--ink);stroke-width:2.4;fill:none}
.stroke{stroke:var(--ink);stroke-width:4;stroke-linecap:round;fill:none}.strokebad{stroke:var(--acc);stroke-width:6;stroke-linecap:round;fill:none}.dotn{fill:var(--soft)}
.lane{fill:var(--leaf);stroke:var(--rule)}.adr{fill:var(--wash);stroke:var(--soft);stroke-width:.8}.adrold{fill:none;stroke:var(--acc);stroke-width:1.6}.adrnew{fill:var(--acc);stroke:var(--acc)}.clash{fill:none;stroke:var(--acc);stroke-width:2.4}.end{stroke:var(--ink);stroke-width:2;fill:none}.arc{fill:none;stroke:var(--acc);stroke-width:1.4}
.fta{fill:var(--paper);stroke:var(--acc);stroke-width:1.6}.ftb{fill:var(--acc)}.ftm{stroke:var(--acc);stroke-width:2;fill:none}.ftl{stroke:var(--soft);fill:none}
.clip{stroke:#8f1f3a;stroke-width:2;fill:none}.sunk{stroke:#d9808f;stroke-width:2;fill:none}.feature{fill:none;stroke:#000;stroke-opacity:.5;stroke-width:1.6;stroke-linecap:round;stroke-linejoin:round}
`
