//! A check's page, written in plain Markdown, as text for a terminal.

use super::Paint;
use std::fmt::Write;

/// The page wrapped at `width`: headings stand out, paragraphs and list items are wrapped, tables and code stay as
/// they are.
pub fn page(markdown: &str, width: usize, paint: Paint) -> String {
    let mut out = String::new();
    let mut paragraph = String::new();
    let mut code = false;
    for line in markdown.lines().map(|line| line.strip_prefix(' ').unwrap_or(line)) {
        let trimmed = line.trim();
        if trimmed.starts_with("```") {
            flush(&mut out, &mut paragraph, width);
            code = !code;
        } else if code || trimmed.starts_with('|') {
            flush(&mut out, &mut paragraph, width);
            let _ = writeln!(out, "  {}", line.trim_end());
        } else if let Some(title) = trimmed.strip_prefix('#') {
            flush(&mut out, &mut paragraph, width);
            let _ = writeln!(out, "{}", paint.strong(title.trim_start_matches('#').trim()));
        } else if trimmed.is_empty() {
            flush(&mut out, &mut paragraph, width);
            if !out.is_empty() && !out.ends_with("\n\n") {
                out.push('\n');
            }
        } else {
            if trimmed.starts_with("- ") || trimmed.starts_with("* ") {
                flush(&mut out, &mut paragraph, width);
            }
            if !paragraph.is_empty() {
                paragraph.push(' ');
            }
            paragraph.push_str(trimmed);
        }
    }
    flush(&mut out, &mut paragraph, width);
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

/// Writes a paragraph with an indent of two, list items with a hanging one.
fn flush(out: &mut String, paragraph: &mut String, width: usize) {
    let item = paragraph.starts_with("- ") || paragraph.starts_with("* ");
    let mut line = String::new();
    let mut first = true;
    let indent = |first: bool| if item && !first { "    " } else { "  " };
    for word in paragraph.split_whitespace() {
        let used = indent(first).len() + line.chars().count();
        if !line.is_empty() && used + 1 + word.chars().count() > width {
            let _ = writeln!(out, "{}{line}", indent(first));
            line.clear();
            first = false;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    if !line.is_empty() {
        let _ = writeln!(out, "{}{line}", indent(first));
    }
    paragraph.clear();
}
