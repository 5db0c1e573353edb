//! Words set in lines.

/// Breaks lines at spaces only: a name such as `via-stub` stays whole. A word longer than a line stands alone on one.
#[must_use]
pub fn wrap(text: &str, width: usize) -> String {
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        for word in paragraph.split(' ') {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
                lines.push(std::mem::take(&mut line));
            } else if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    lines.join("\n")
}
