package picture

// style is the style of every picture. The colours of what is drawn are of the
// palette that Okabe and Ito made for all kinds of colour vision, a shade darker
// where they are text; no meaning rests on colour alone. Dark is for screens:
// paper is always white.
const style = `
svg { --paper: #fff; --ink: #1b1b1b; --soft: #565b61; --rule: #dadde1; --edge: #868c93;
  --first: #0072b2; --second: #b54f00; --pale: #e4f1f9; --glow: #fdf0d5;
  font: 13px "Noto Sans", "DejaVu Sans", "Segoe UI", Roboto, Arial, sans-serif; }
@media screen and (prefers-color-scheme: dark) {
  svg { --paper: #16191d; --ink: #eceef0; --soft: #aab1b9; --rule: #333a41; --edge: #7d858e;
    --first: #56b4e9; --second: #e69f00; --pale: #17344a; --glow: #453210; }
}
text { fill: var(--ink); }
.paper { fill: var(--paper); }
.head { font-size: 17px; font-weight: 700; }
.quiet { fill: var(--soft); }
.axis, .label { font-size: 12px; }
.axis { fill: var(--soft); }
.end { text-anchor: end; }
.middle { text-anchor: middle; }
.strong { font-weight: 700; }
.over { stroke: var(--paper); stroke-width: 4px; stroke-linejoin: round; paint-order: stroke; }
.grid { stroke: var(--rule); }
.base { stroke: var(--edge); }
.hatch { stroke: var(--edge); }
.gap { fill: url(#gap-lines); opacity: .55; }
.first { fill: var(--first); }
.second { fill: var(--second); }
.so-far { fill-opacity: .4; stroke-width: 1.5px; stroke-dasharray: 4 2; }
.so-far.first { stroke: var(--first); }
.so-far.second { stroke: var(--second); }
.course { fill: none; stroke: var(--first); stroke-width: 2px; stroke-linejoin: round; }
.under { fill: var(--first); opacity: .14; }
.span { stroke: var(--second); stroke-width: 2px; }
.dot { fill: var(--second); stroke: var(--paper); stroke-width: 1.5px; }
.node { fill: var(--paper); stroke: var(--edge); }
.root { fill: var(--pale); stroke: var(--first); }
.goal { fill: var(--glow); stroke: var(--second); stroke-width: 2.5px; }
.rest { fill: var(--paper); stroke: var(--edge); stroke-dasharray: 5 3; }
.way { fill: none; stroke: var(--edge); stroke-width: 1.5px; }
.stay { stroke-dasharray: 2 3; }
.tip { fill: var(--edge); }
`
