//! `wherefore page`: the page for a browser, written to a file. It is built apart and lies in the program where that was built
//! with it. Ends with 2 where it was not.

use crate::cli::args::Page;
use crate::cli::{Exit, files, print};

/// What is said where the program has no page.
const WITHOUT: &str = "this program was built without the page; in the source, build both: `bindings/page/build`, then \
`WHEREFORE_PAGE=\"$PWD/bindings/page/wherefore.html\" cargo rustc --locked --release --bin wherefore -- --cfg wherefore_page`";

pub(crate) fn run(args: &Page, page: Option<&str>) -> Exit {
    let written =
        page.ok_or_else(|| WITHOUT.to_owned()).and_then(|page| files::write_new(&args.out, page, Some(args.force)));
    match written {
        Ok(()) => {
            print::message(&format!("The page is in {}.", files::shown(&args.out)));
            Exit::Good
        }
        Err(fault) => {
            print::error(&fault);
            Exit::Unusable
        }
    }
}
