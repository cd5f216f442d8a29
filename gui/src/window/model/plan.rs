//! From the sensors as they are named to a live run that can begin.

use super::{Effect, Model, Purpose};
use crate::live::Plan;

impl Model {
    /// A live run with the sensors as they are named.
    fn plan(&self, purpose: Purpose) -> Result<Plan, String> {
        use crate::live::{Task, Visit};
        use fusion::calibrate::FacesWanted;
        let (leg, only) = match purpose {
            Purpose::Raise(side) => (side, None),
            Purpose::Flat(placement) => {
                (placement.side().unwrap_or(self.manner.leg), Some(placement))
            }
            Purpose::Check => (self.manner.leg, None),
        };
        let mut sources = self.sensors.asked(leg).map_err(|e| e.to_string())?;
        sources.retain(|asked| only.is_none_or(|only| only == asked.placement));
        let root = if self.client.is_try {
            &self.scratch
        } else if self.client.is_booked {
            &self.book.data
        } else {
            &self.settings.folder
        };
        let visit = Visit {
            root: root.clone(),
            client: self.client.code.clone(),
            session: self.client.visit.clone(),
        };
        Ok(Plan {
            sources,
            task: only.map_or(Task::Raises, |_| Task::Flat(FacesWanted::Six)),
            visit: (purpose != Purpose::Check).then_some(visit),
            conditions: self.manner.conditions(),
            seconds: None,
            with_marker: self.manner.with_marker && only.is_none() && purpose != Purpose::Check,
            #[cfg(feature = "phone")]
            page_ip: None,
            wall: self.wall,
            heeds_signals: false,
        })
    }

    /// Begins a live run. Nothing is recorded of a client of the casebook without consent and the cautions asked.
    pub(super) fn begin(&mut self, purpose: Purpose) -> Result<Effect, String> {
        if purpose != Purpose::Check {
            let language = self.settings.language;
            self.may_record().map_err(|fault| language.fault(&fault))?;
        }
        let plan = self.plan(purpose)?;
        self.running = Some(purpose);
        Ok(Effect::Begin(purpose, plan))
    }
}
