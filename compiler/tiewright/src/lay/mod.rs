//! Lay jobs and what they are laid as: the documents, making them from drafts, laying them.
//!
//! Drafts and a cloth become a [`LayJob`], the one document that whoever plans, lays and draws has
//! in common; it needs no shape file any more. [`solve()`] lays it and gives a [`Laid`]. Nothing here
//! reads or writes a file or asks what time it is.

pub mod field;
pub mod furniture;
pub mod job;
pub mod labels;
pub mod laid;
pub mod make;
pub mod outline;
pub mod path;
pub mod sheet;
pub mod solve;

pub use job::{LayJob, Sealed};
pub use laid::Laid;
pub use make::{Article, cloth, job, table};
pub use solve::{Effort, Prepared, quick, solve};

#[cfg(test)]
pub(crate) mod tests {
    use super::job::{JobTable, Search};
    use super::*;
    use crate::sample;
    use tiewright_core::cloth::{Bias, Direction, Properties, Property};
    use tiewright_core::draft::Draft;
    use tiewright_marker::Never;

    /// Some ties of the sample on a cloth of 60 cm.
    pub(crate) fn sealed(draft: &Draft, direction: Direction, steps: u64) -> Sealed {
        let mut properties = Properties::default();
        properties.set(Property::Width, 600.0);
        properties.set_direction(direction);
        let article = Article {
            draft,
            roles: vec!["shell", "lining"],
            count: 3,
        };
        let table = JobTable {
            gap: 3.0,
            end_loss: 20.0,
            ..JobTable::default()
        };
        let search = Search {
            steps: Some(steps),
            ..Search::default()
        };
        let cloth = cloth("plain", "", &properties).expect("a width");
        let made = job("sample", &[article], cloth, table, search);
        Sealed::new(&made).expect("a job")
    }

    #[test]
    fn a_job_reads_back_as_it_was_written() {
        let first = sealed(&sample::draft(), Direction::TwoWay, 10);
        let again = Sealed::new(&first.job).expect("a job");
        assert_eq!(first.text, again.text);
        assert_eq!(first.digest, again.digest);
        assert_eq!(first.job, again.job);
    }

    #[test]
    fn a_stated_bias_leaves_half_turns_alone() {
        let turns = |job: &LayJob| {
            let sealed = Sealed::new(job).expect("a job");
            let prepared = Prepared::new(&sealed).expect("prepared");
            prepared.job.kinds[0].turns.len()
        };
        let mut job = sealed(&sample::draft(), Direction::AnyWay, 1).job;
        assert_eq!(turns(&job), 4);
        job.cloth.warp = Some(Bias::Left);
        assert_eq!(turns(&job), 2);
    }

    #[test]
    fn a_marker_goes_on_from_what_was_laid() {
        let sealed = sealed(&sample::draft(), Direction::TwoWay, 2000);
        let prepared = Prepared::new(&sealed).expect("prepared");
        let laid = solve(&prepared, &Effort::default(), &Never, &mut |_| {}).expect("laid");
        let read = Laid::read(&laid.text().expect("text")).expect("read");
        assert_eq!(read.pieces.len() as u64, sealed.job.pieces());
        assert!(prepared.layout(&read).is_some());
        let start = Effort {
            start: Some(&read),
            ..Effort::default()
        };
        let more = solve(&prepared, &start, &Never, &mut |_| {}).expect("laid again");
        assert!(more.length <= laid.length);
        let share = laid.area / (laid.length * 600.0);
        assert!((laid.of_usable_width - share).abs() < 1e-9);
    }
}
