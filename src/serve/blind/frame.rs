//! The frame of the table's pages: style and script come from this server, none stands in the page.

use maud::{DOCTYPE, Markup, html};

/// Where the style is fetched.
pub const STYLE_PATH: &str = "/a/table.css";

/// Where the script of tasters is fetched.
pub const TASTER_SCRIPT_PATH: &str = "/a/taster.js";

/// Where the script of the host is fetched.
pub const HOST_SCRIPT_PATH: &str = "/a/host.js";

/// A whole page with styles beside the usual one, and a script.
#[must_use]
pub fn page_with_styles(title: &str, styles: &[&str], script: &str, body: &Markup) -> String {
    framed(title, styles, Some(script), None, body)
}

/// A whole page. A page without a script is loaded again every `again` seconds where that is wanted.
#[must_use]
pub fn page(title: &str, script: Option<&str>, again: Option<u32>, body: &Markup) -> String {
    framed(title, &[], script, again, body)
}

fn framed(
    title: &str,
    styles: &[&str],
    script: Option<&str>,
    again: Option<u32>,
    body: &Markup,
) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                // Other pages learn of none of these addresses; a form still says where it came from.
                meta name="referrer" content="same-origin";
                meta name="format-detection" content="telephone=no";
                @if let Some(seconds) = again {
                    noscript { meta http-equiv="refresh" content=(seconds); }
                }
                title { (title) }
                link rel="stylesheet" href=(STYLE_PATH);
                @for style in styles { link rel="stylesheet" href=(style); }
                @if let Some(script) = script { script src=(script) defer {} }
            }
            (body)
        }
    };
    page.into_string() + "\n"
}
