//! The baseline of a run: read, compared, written.

use super::arguments::CheckArguments;
use super::load;
use super::output::{self, Streams};
use super::trouble::{Trouble, Troubles};
use crate::findings::{Baseline, Change, Gathered};
use crate::source::excerpt::{Gravity, Notice};
use std::fs;
use std::path::Path;
use std::sync::Arc;

/// The baseline that the run is held against, after it was written if that was asked for.
pub fn settle(
    arguments: &CheckArguments,
    gathered: &mut Gathered<'_>,
    streams: &Streams,
) -> Result<Option<Baseline>, Troubles> {
    let Some(path) = &arguments.baseline else { return Ok(None) };
    let old = if !path.exists() && arguments.write_baseline && arguments.accept_new {
        Baseline::default()
    } else {
        read(path)?
    };
    if !arguments.write_baseline {
        return Ok(Some(old));
    }
    let new = gathered.baseline_after(&old, arguments.accept_new);
    let text = new.write();
    // A file that says the same already keeps its date.
    if fs::read(path).ok().as_deref() != Some(text.as_bytes()) {
        fs::write(path, text).map_err(|error| {
            Troubles::plain(format!("can't write the baseline `{}`: {error}", path.display()), None)
        })?;
    }
    let refused = gathered.entries().iter().filter(|entry| matches!(entry.change, Some(Change::New | Change::Worse)));
    let refused = refused.count();
    if !arguments.accept_new && refused > 0 {
        let findings = if refused == 1 { "1 finding is" } else { &format!("{refused} findings are") };
        let notice = Notice {
            gravity: Gravity::Warning,
            text: format!("{findings} new or worse and not taken into the baseline"),
            excerpt: None,
            help: Some("`--accept-new` takes them in".to_owned()),
        };
        output::complain(&notice.render(&streams.complaints()));
    }
    Ok(Some(new))
}

fn read(path: &Path) -> Result<Baseline, Troubles> {
    if !path.exists() {
        let help = "`--write-baseline --accept-new` makes one of what this run finds".to_owned();
        return Err(Troubles::plain(format!("there is no baseline `{}`", path.display()), Some(help)));
    }
    let source = Arc::new(load::file(path).map_err(|trouble: Trouble| Troubles(vec![trouble]))?);
    Ok(Baseline::read(&source)?)
}
