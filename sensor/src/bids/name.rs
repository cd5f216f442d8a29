//! File names of the standard: `sub-X_ses-Y_task-Z_tracksys-W_acq-V_run-01_suffix.ext`.

use crate::RecordingId;

/// The entities of a file name. Their order in the name is the standard's when written, any when read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Name {
    pub(crate) subject: Option<String>,
    pub(crate) session: Option<String>,
    pub(crate) task: Option<String>,
    pub(crate) tracksys: Option<String>,
    pub(crate) acquisition: Option<String>,
    pub(crate) run: Option<String>,
    pub(crate) desc: Option<String>,
    pub(crate) suffix: String,
    /// Without its leading dot; `tsv.gz` is one.
    pub(crate) extension: String,
}

/// Whether a text may stand as a label: letters and digits only.
pub(crate) fn is_label(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_alphanumeric())
}

impl Name {
    /// `None` where the name breaks the grammar.
    pub(crate) fn parse(file_name: &str) -> Option<Self> {
        let (stem, extension) = file_name.split_once('.')?;
        let mut name = Self {
            extension: extension.to_owned(),
            ..Self::default()
        };
        let mut parts = stem.split('_').peekable();
        while let Some(part) = parts.next() {
            if parts.peek().is_none() {
                if !is_label(part) {
                    return None;
                }
                part.clone_into(&mut name.suffix);
                break;
            }
            let (key, label) = part.split_once('-')?;
            // The standard lets a plus sign stand in labels; we read it and never write it.
            if label.is_empty()
                || !label
                    .bytes()
                    .all(|b| b.is_ascii_alphanumeric() || b == b'+')
            {
                return None;
            }
            let slot = match key {
                "sub" => &mut name.subject,
                "ses" => &mut name.session,
                "task" => &mut name.task,
                "tracksys" => &mut name.tracksys,
                "acq" => &mut name.acquisition,
                "run" => &mut name.run,
                "desc" => &mut name.desc,
                _ => return None,
            };
            if slot.replace(label.to_owned()).is_some() {
                return None;
            }
        }
        Some(name)
    }

    /// The name of one file of a run.
    pub(crate) fn of(
        id: &RecordingId,
        tracksys: Option<&str>,
        suffix: &str,
        extension: &str,
    ) -> Self {
        Self {
            subject: id.subject.clone(),
            session: id.session.clone(),
            task: Some(id.task.clone()),
            tracksys: tracksys.map(str::to_owned),
            acquisition: id.acquisition.clone(),
            run: id.run.clone(),
            desc: None,
            suffix: suffix.to_owned(),
            extension: extension.to_owned(),
        }
    }

    /// The run this file belongs to; `None` without a subject or a task.
    pub(crate) fn recording(&self) -> Option<RecordingId> {
        if self.desc.is_some() {
            return None;
        }
        Some(RecordingId {
            subject: Some(self.subject.clone()?),
            session: self.session.clone(),
            task: self.task.clone()?,
            acquisition: self.acquisition.clone(),
            run: self.run.clone(),
        })
    }

    /// The same run's, or the same sensor's, other file.
    pub(crate) fn with_suffix(&self, suffix: &str, extension: &str) -> Self {
        Self {
            suffix: suffix.to_owned(),
            extension: extension.to_owned(),
            ..self.clone()
        }
    }

    fn entities(&self) -> [(&'static str, Option<&str>); 7] {
        [
            ("sub", self.subject.as_deref()),
            ("ses", self.session.as_deref()),
            ("task", self.task.as_deref()),
            ("tracksys", self.tracksys.as_deref()),
            ("acq", self.acquisition.as_deref()),
            ("run", self.run.as_deref()),
            ("desc", self.desc.as_deref()),
        ]
    }

    /// How many entities the name has.
    pub(crate) fn entity_count(&self) -> usize {
        self.entities()
            .iter()
            .filter(|(_, label)| label.is_some())
            .count()
    }

    /// Whether a side file of this name applies to `other` (inheritance): every entity it has, that has too.
    pub(crate) fn applies_to(&self, other: &Self) -> bool {
        self.entities()
            .iter()
            .zip(other.entities())
            .all(|((_, mine), (_, its))| mine.is_none() || *mine == its)
    }
}

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (key, label) in self.entities() {
            if let Some(label) = label {
                write!(f, "{key}-{label}_")?;
            }
        }
        write!(f, "{}.{}", self.suffix, self.extension)
    }
}

/// Orders run labels: none, then numbers by their value, then other words.
pub(crate) fn run_order(a: Option<&str>, b: Option<&str>) -> std::cmp::Ordering {
    let key =
        |label: Option<&str>| label.map(|l| l.parse::<u64>().map_or((true, 0), |n| (false, n)));
    key(a).cmp(&key(b)).then_with(|| a.cmp(&b))
}
