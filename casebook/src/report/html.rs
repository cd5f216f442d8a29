//! A report as one self-contained page for a browser: no scripts, nothing fetched, drawings within.

use std::fmt::Write as _;

use super::page::{Anchor, Block, Figure, Ink, Line, Page, Shape, Table, Tone};

/// Colours on paper and on a dark screen; all text 4.5:1 or better, lines and marks 3:1.
const STYLE: &str = "\
:root{--paper:#fff;--text:#1c1c1c;--soft:#4d4d4d;--rule:#8a8a8a;--faint:#c9c9c9;--band:#e4e6ea;--point:#0b5394;--fit:#a8480a}
@media (prefers-color-scheme:dark){:root{--paper:#16181b;--text:#ececec;--soft:#bdbdbd;--rule:#8f8f8f;--faint:#4a4d52;\
--band:#2c3037;--point:#7db8f0;--fit:#f0a35e}}
@media print{:root{--paper:#fff;--text:#1c1c1c;--soft:#4d4d4d;--rule:#8a8a8a;--faint:#c9c9c9;--band:#e4e6ea;--point:#0b5394;--fit:#a8480a}}
@page{size:A4;margin:18mm}
html{background:var(--paper);color:var(--text);color-scheme:light dark}
body{font:1rem/1.45 system-ui,sans-serif;max-width:52rem;margin:0 auto;padding:1.5rem;overflow-wrap:anywhere}
h1{font-size:1.7rem;margin:0}h2{font-size:1.25rem;margin:1.6rem 0 .4rem;border-bottom:1px solid var(--rule)}
h3{font-size:1.05rem;margin:1.2rem 0 .3rem}h1,h2,h3{line-height:1.25;break-after:avoid}
.about{font-size:1.1rem;margin:.2rem 0 1rem}.lead{font-size:1.15rem}.small,footer,figcaption,caption{color:var(--soft);font-size:.875rem}
.wide{overflow-x:auto;margin:.8rem 0}table{border-collapse:collapse;width:100%;font-size:.92rem}
caption{text-align:left;padding-bottom:.3rem}th,td{text-align:left;vertical-align:top;padding:.25rem .5rem .25rem 0;\
border-bottom:1px solid var(--faint)}thead th{border-bottom:1px solid var(--rule)}
td.number,th.number{text-align:right;padding-right:.9rem;font-variant-numeric:tabular-nums;overflow-wrap:normal}
tr,figure{break-inside:avoid}figure{margin:1rem 0}svg{width:100%;height:auto;display:block}
svg text{font-family:system-ui,sans-serif}footer{border-top:1px solid var(--rule);margin-top:1.6rem;padding-top:.5rem}
";

/// Draws a page.
pub fn render(page: &Page) -> String {
    let mut out = String::new();
    let (title, about) = (esc(&page.title), esc(&page.subtitle));
    put(
        &mut out,
        format_args!(
            "<!DOCTYPE html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n\
             <title>{title}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n\
             <header>\n<h1>{title}</h1>\n<p class=\"about\">{about}</p>\n</header>\n<main>\n",
            page.language.code()
        ),
    );
    for (at, block) in page.blocks.iter().enumerate() {
        draw(&mut out, block, at);
    }
    put(
        &mut out,
        format_args!(
            "</main>\n<footer><p>{}</p></footer>\n</body>\n</html>\n",
            esc(&page.footer)
        ),
    );
    out
}

/// Writing to a string can't fail.
fn put(out: &mut String, what: std::fmt::Arguments<'_>) {
    if out.write_fmt(what).is_err() {
        debug_assert!(false, "a string takes all");
    }
}

/// A text without what a browser would take for more than text.
fn esc(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            c => safe.push(c),
        }
    }
    safe
}

fn draw(out: &mut String, block: &Block, at: usize) {
    match block {
        Block::Heading { level, text } => {
            let level = level.saturating_add(1).clamp(2, 6);
            put(out, format_args!("<h{level}>{}</h{level}>\n", esc(text)));
        }
        Block::Paragraph { tone, text } => {
            let class = match tone {
                Tone::Plain => "",
                Tone::Lead => " class=\"lead\"",
                Tone::Small => " class=\"small\"",
            };
            put(out, format_args!("<p{class}>{}</p>\n", esc(text)));
        }
        Block::List(items) => {
            out.push_str("<ul>\n");
            for item in items {
                put(out, format_args!("<li>{}</li>\n", esc(item)));
            }
            out.push_str("</ul>\n");
        }
        Block::Table(table) => draw_table(out, table),
        Block::Figure(figure) => draw_figure(out, figure, at),
    }
}

fn draw_table(out: &mut String, table: &Table) {
    let caption = esc(&table.caption);
    // A wide table is scrolled, by keyboard too.
    put(
        out,
        format_args!(
            "<div class=\"wide\" role=\"region\" aria-label=\"{caption}\" tabindex=\"0\">\n<table>\n\
             <caption>{caption}</caption>\n<thead><tr>"
        ),
    );
    let class = |is_number: bool| if is_number { " class=\"number\"" } else { "" };
    for column in &table.columns {
        let title = esc(&column.title);
        put(
            out,
            format_args!("<th scope=\"col\"{}>{title}</th>", class(column.is_number)),
        );
    }
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        out.push_str("<tr>");
        for (at, (cell, column)) in row.iter().zip(&table.columns).enumerate() {
            let (class, text) = (class(column.is_number), esc(cell));
            if at == 0 {
                put(out, format_args!("<th scope=\"row\"{class}>{text}</th>"));
            } else {
                put(out, format_args!("<td{class}>{text}</td>"));
            }
        }
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody>\n</table>\n</div>\n");
}

fn draw_figure(out: &mut String, figure: &Figure, at: usize) {
    put(
        out,
        format_args!(
            "<figure>\n<svg viewBox=\"0 0 {} {}\" role=\"img\" aria-labelledby=\"drawing-{at}\">\n\
             <title id=\"drawing-{at}\">{}</title>\n",
            figure.width,
            figure.height,
            esc(&figure.alternative)
        ),
    );
    for shape in &figure.shapes {
        draw_shape(out, shape);
    }
    put(
        out,
        format_args!(
            "</svg>\n<figcaption>{}</figcaption>\n</figure>\n",
            esc(&figure.caption)
        ),
    );
}

fn draw_shape(out: &mut String, shape: &Shape) {
    match shape {
        Shape::Path {
            points,
            is_closed,
            fill,
            line,
        } => {
            let name = if *is_closed { "polygon" } else { "polyline" };
            put(out, format_args!("<{name} points=\""));
            for (at, (x, y)) in points.iter().enumerate() {
                let gap = if at == 0 { "" } else { " " };
                put(out, format_args!("{gap}{x:.2},{y:.2}"));
            }
            let fill = fill.map_or("none", colour);
            put(
                out,
                format_args!("\" style=\"fill:{fill}{}\"/>\n", stroke(*line)),
            );
        }
        Shape::Label {
            at: (x, y),
            text,
            anchor,
            size,
            ink,
        } => {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            put(
                out,
                format_args!(
                    "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size}\" text-anchor=\"{anchor}\" style=\"fill:{}\">{}</text>\n",
                    colour(*ink),
                    esc(text)
                ),
            );
        }
    }
}

fn stroke(line: Option<Line>) -> String {
    line.map_or_else(String::new, |line| {
        let lengths: Vec<String> = line.dash.lengths().iter().map(f32::to_string).collect();
        let dashes = if lengths.is_empty() {
            String::new()
        } else {
            format!(";stroke-dasharray:{}", lengths.join(" "))
        };
        format!(
            ";stroke:{};stroke-width:{}{dashes}",
            colour(line.ink),
            line.width
        )
    })
}

const fn colour(ink: Ink) -> &'static str {
    match ink {
        Ink::Text => "var(--text)",
        Ink::Faint => "var(--faint)",
        Ink::Band => "var(--band)",
        Ink::Point => "var(--point)",
        Ink::Fit => "var(--fit)",
        Ink::Paper => "var(--paper)",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of `#rgb` or `#rrggbb`, as in WCAG 2.2.
    fn luminance(colour: &str) -> f64 {
        let digits: Vec<char> = colour.trim_start_matches('#').chars().collect();
        let wide: String = if digits.len() == 3 {
            digits.iter().flat_map(|c| [*c, *c]).collect()
        } else {
            digits.iter().collect()
        };
        let part = |at: usize| {
            let value = f64::from(u8::from_str_radix(&wide[at..at + 2], 16).unwrap()) / 255.0;
            if value <= 0.040_45 {
                value / 12.92
            } else {
                ((value + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * part(0) + 0.7152 * part(2) + 0.0722 * part(4)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn colours_stand_out_on_paper_and_on_a_dark_screen() {
        assert!((contrast("#000", "#ffffff") - 21.0).abs() < 1e-9);
        let themes: Vec<&str> = STYLE.split(":root{").skip(1).collect();
        assert_eq!(themes.len(), 3, "light, dark, print");
        for theme in themes {
            let colour = |name: &str| {
                let after = theme.split_once(&format!("--{name}:")).unwrap().1;
                after.split([';', '}']).next().unwrap().to_owned()
            };
            let [paper, band] = ["paper", "band"].map(colour);
            for (ink, least) in [
                ("text", 4.5),
                ("soft", 4.5),
                ("point", 3.0),
                ("fit", 3.0),
                ("rule", 3.0),
            ] {
                let found = contrast(&colour(ink), &paper);
                assert!(found >= least, "{ink} {found}");
            }
            for ink in ["point", "fit", "text"] {
                assert!(contrast(&colour(ink), &band) >= 3.0, "{ink} on the band");
            }
        }
    }

    #[test]
    fn nothing_of_a_text_is_taken_for_a_tag() {
        assert_eq!(
            esc("<b a=\"1\" c='2'>&amp;"),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;amp;"
        );
    }
}
