//! The frame of every page: one file, no network, no script, light and dark, A4 and Letter.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::svg::drawing::MARK;
use crate::svg::palette;

/// How pages look on screen and on paper.
const STYLE: &str = "
*{box-sizing:border-box}
html{font-family:var(--face);font-size:16px;line-height:1.45;-webkit-text-size-adjust:100%}
body{margin:0;background:var(--ground);color:var(--ink)}
main{max-width:46rem;margin:0 auto;padding:1.75rem 1.125rem 3rem}
header{border-top:4px solid var(--accent);padding-top:.875rem;margin-bottom:1.5rem}
h1{font-size:1.625rem;line-height:1.2;margin:0 0 .25rem;letter-spacing:-.01em;overflow-wrap:anywhere}
h2{font-size:1.1875rem;line-height:1.25;margin:2rem 0 .5rem;overflow-wrap:anywhere}
h3{font-size:1rem;margin:1.25rem 0 .375rem}
p{margin:.375rem 0;overflow-wrap:anywhere}
.lead{font-size:1.1875rem;line-height:1.4;max-width:38rem}
.soft{color:var(--soft)}
.note{color:var(--soft);font-size:.875rem}
.warn{color:var(--warn);font-weight:600}
.in{padding-left:1rem}
ol,ul{margin:.375rem 0;padding-left:1.375rem}
li{margin:.25rem 0;overflow-wrap:anywhere}
code{font-family:ui-monospace,\"Cascadia Mono\",Menlo,\"DejaVu Sans Mono\",monospace;font-size:.875em;overflow-wrap:anywhere}
.scroll{overflow-x:auto;margin:.5rem 0 .75rem}
.scroll:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums;font-size:.9375rem}
caption{text-align:left;color:var(--soft);font-size:.875rem;padding-bottom:.25rem}
th,td{text-align:left;vertical-align:baseline;padding:.3125rem .875rem .3125rem 0;border-bottom:1px solid var(--guide)}
th:last-child,td:last-child{padding-right:0}
thead th{font-size:.8125rem;font-weight:600;color:var(--soft);border-bottom:1px solid var(--edge)}
tbody th{font-weight:600}
.n{text-align:right;white-space:nowrap}
.big td.n{font-size:1.125rem;font-weight:600}
td.tick,th.tick{width:1.75rem;padding-right:.625rem}
.box{display:inline-block;width:1.0625rem;height:1.0625rem;border:1.5px solid var(--ink);border-radius:2px;vertical-align:-.1875rem}
.fill{border-left:4px solid var(--accent);padding:.125rem 0 .125rem .75rem;margin:.625rem 0}
.water,.together,figure{break-inside:avoid}
.card,.water{margin:1.5rem 0;padding-top:.25rem;border-top:1px solid var(--edge)}
.water h2,.card h2{margin-top:.5rem}
figure{margin:1.25rem 0 1.75rem;break-inside:avoid}
figcaption{font-weight:600;margin-bottom:.5rem}
.picture{display:block;width:100%;max-width:40rem;height:auto}
.codes{display:flex;flex-wrap:wrap;gap:.375rem .75rem;align-items:baseline}
.code{font-size:1.375rem;font-weight:700;letter-spacing:.03em;font-variant-numeric:tabular-nums}
.code-to-read{margin:.5rem 0;break-inside:avoid}
.qr{display:block;width:36mm;max-width:100%;height:auto;margin-bottom:.25rem;forced-color-adjust:none;print-color-adjust:exact}
.phone code{font-size:.6875rem}.slip .qr{width:26mm}
.pause{color:var(--soft);font-size:.875rem}
.blank{display:inline-block;border-bottom:1.5px solid var(--edge);min-width:3.25rem;height:1.375rem}
.wide{min-width:0;width:100%}
.recipes{display:grid;grid-template-columns:repeat(auto-fill,minmax(15rem,1fr));gap:0 2rem}
.pair{display:grid;grid-template-columns:repeat(auto-fit,minmax(17rem,1fr));gap:0 2rem}.pair>*{min-width:0}
.slips{display:grid;grid-template-columns:repeat(auto-fill,minmax(17rem,1fr));gap:0}
.slip{border:1px dashed var(--edge);padding:.875rem;break-inside:avoid;min-width:0}
.rule{width:100mm;height:6mm;border:.35mm solid var(--ink);border-top:0}
.ruled{overflow:hidden}
.sheet+.sheet{margin-top:4rem}
footer{margin-top:2.5rem;border-top:1px solid var(--guide);padding-top:.75rem;color:var(--soft);font-size:.8125rem}
@media (max-width:30rem){.picture{width:calc(100% + 2rem);max-width:none;margin-left:-1rem}html{font-size:15px}th,td{padding-right:.5rem}.slips{grid-template-columns:1fr}}
@page{margin:14mm}
@media print{
html{font-size:10pt;line-height:1.35}main{max-width:none;padding:0}header{margin-bottom:.75rem}
.card,.water{margin:.75rem 0}h2{margin:.75rem 0 .25rem}.water h2,.card h2{margin-top:.25rem}
p{margin:.2rem 0}li{margin:.1rem 0}th,td{padding-top:.2rem;padding-bottom:.2rem}.scroll{margin:.25rem 0 .4rem}footer{margin-top:1rem}
.scroll{overflow:visible}h2,h3{break-after:avoid}tr,li{break-inside:avoid}thead{display:table-header-group}
.sheet+.sheet{break-before:page;margin-top:0}.picture{max-width:130mm}
.code{font-size:22pt}.blank{min-width:18mm;height:8mm}.wide{min-width:0}
.slips{grid-template-columns:1fr 1fr}.screen{display:none}
}";

/// A whole page: its title, a line below it, and what stands on it.
#[must_use]
pub fn document(title: &str, below: &str, body: &Markup) -> String {
    let head = html! {
        h1 { (title) }
        @if !below.is_empty() { p.soft { (below) } }
    };
    framed(title, "", &html! { header { (head) } (body) })
}

/// A page without the usual head, with rules of its own.
#[must_use]
pub fn framed(title: &str, rules: &str, body: &Markup) -> String {
    let style = format!(
        "{}:root{{--face:{}}}{STYLE}{}{rules}",
        palette::variables(":root"),
        palette::FACE,
        palette::picture_rules(".picture"),
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(MARK);
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { main { (body) } }
        }
    };
    page.into_string() + "\n"
}
