//! What each rule of the grammar is called where a message says what was expected. The match names every rule, so that
//! a new one does not compile until it has a name.

use super::grammar::Rule;

/// What a message says of a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Say {
    /// A keyword or a delimiter, in backticks.
    Word(&'static str),
    /// A thing, in plain words.
    Thing(&'static str),
    /// What stands on a line of its own, in plain words.
    OwnLine(&'static str),
    /// Nothing: space and the like.
    Nothing,
}

/// What a message says of the rule.
pub(super) fn say(rule: Rule) -> Say {
    match rule {
        Rule::EOI => Say::OwnLine("the end"),
        Rule::WHITESPACE
        | Rule::gap
        | Rule::blank
        | Rule::name_character
        | Rule::edge
        | Rule::joiner
        | Rule::reserved
        | Rule::reserved_subject
        | Rule::escape
        | Rule::code_place
        | Rule::line_begins => Say::Nothing,
        // Older words are read, and offered to nobody.
        Rule::kw_not_read
        | Rule::kw_unread_on
        | Rule::kw_silent_on
        | Rule::kw_partly
        | Rule::kw_under
        | Rule::kw_in
        | Rule::kw_over_the_limit
        | Rule::kw_within_the_limit => Say::Nothing,
        Rule::dash | Rule::inner_dash | Rule::group_bullet | Rule::inner_bullet => {
            Say::Thing("a bullet on a line of its own")
        }
        Rule::comma => Say::Word(","),
        Rule::semicolon => Say::Word(";"),
        Rule::colon => Say::Word(":"),
        Rule::open => Say::Word("("),
        Rule::close => Say::Word(")"),
        Rule::quote | Rule::text | Rule::address => Say::Thing("a text in double quotes"),
        Rule::name | Rule::id | Rule::struck => Say::Thing("a name"),
        Rule::line_outcome | Rule::way_giver => Say::OwnLine("a property"),
        Rule::outcome | Rule::plain | Rule::outcome_declaration | Rule::turned => Say::Thing("an outcome"),
        Rule::clause_ref => Say::Thing("a clause"),
        Rule::source_ref => Say::Thing("a source"),
        Rule::citation => Say::Thing("a source"),
        Rule::period_ref => Say::Thing("a period"),
        Rule::change_ref => Say::Thing("an announced change"),
        Rule::currency => Say::Thing("`older text`, `proposed text` or `superseded`"),
        Rule::change_kind => Say::Thing("`adopted`, `reported` or `proposed`"),
        Rule::interval => Say::Thing("an interval such as `every 2 years`"),
        Rule::interval_unit => Say::Thing("`years` or `months`"),
        Rule::cited_dates | Rule::cited_from | Rule::cited_through | Rule::cited_in => {
            Say::OwnLine("the dates of the citation")
        }
        Rule::table_ref => Say::Thing("a table"),
        Rule::code_group_ref => Say::Thing("a code group"),
        Rule::program_ref => Say::Thing("a program"),
        Rule::limit_ref => Say::Thing("the name of a limit"),
        Rule::reading_ref => Say::Thing("a reading or `none`"),
        Rule::choice => Say::Thing("a question or an option"),
        Rule::chosen_word => Say::Thing("a reading or a value"),
        Rule::value | Rule::word_list => Say::Thing("a word"),
        Rule::finding_code => Say::Thing("the code of a warning, such as `analysis/never-decides`"),
        Rule::acknowledged => Say::Thing("what it is about"),
        Rule::number => Say::Thing("a number"),
        Rule::date => Say::Thing("a date"),
        Rule::unit => Say::Thing("a unit"),
        Rule::code | Rule::obd_code | Rule::code_pattern | Rule::code_list | Rule::codes_read => Say::Thing("a code"),
        Rule::fact | Rule::plain_subject | Rule::subject => Say::Thing("a fact"),
        Rule::monitor | Rule::monitor_list => Say::Thing("a monitor"),
        Rule::code_kind => Say::Thing("`stored code`, `pending code`, `permanent code` or `earlier code`"),
        Rule::monitors_kind | Rule::assignment | Rule::assignment_list => Say::Thing("a fact with its value"),
        Rule::topic | Rule::topic_list => Say::Thing("a topic"),
        Rule::source_kind => Say::Thing("a kind of text"),
        Rule::seen => Say::Thing("how it was seen"),
        Rule::class => Say::Thing("a class of outcomes"),
        Rule::consequence_kind => Say::Thing("a kind of consequence"),
        Rule::standing_word => Say::Thing("`draft`, `digest-checked`, `checked` or `withdrawn`"),
        Rule::observer => Say::Thing("`reader`, `look`, `papers` or `visit`"),
        Rule::item_alone
        | Rule::item
        | Rule::head
        | Rule::program
        | Rule::source
        | Rule::in_force
        | Rule::outcomes
        | Rule::age
        | Rule::areas
        | Rule::covers
        | Rule::leaves_out
        | Rule::exempts
        | Rule::sends
        | Rule::period
        | Rule::change
        | Rule::due
        | Rule::counts
        | Rule::excuses
        | Rule::limit
        | Rule::clause
        | Rule::finding
        | Rule::code_group
        | Rule::silent
        | Rule::unread
        | Rule::adopts
        | Rule::question
        | Rule::option
        | Rule::table
        | Rule::presumes
        | Rule::fact_item
        | Rule::result
        | Rule::becomes
        | Rule::consequence
        | Rule::note
        | Rule::not_expressible
        | Rule::advice
        | Rule::ordinary
        | Rule::case
        | Rule::acknowledges => Say::Thing("an item"),
        Rule::counted
        | Rule::counts_unsupported
        | Rule::counts_among
        | Rule::counts_not_continuous
        | Rule::counts_supported => Say::Thing("which monitors count"),
        Rule::excused_earlier | Rule::excused_by_table => Say::Thing("which monitors are excused"),
        Rule::codes_unread | Rule::all_unread => Say::Word("text not seen"),
        Rule::allows_unread => Say::Word("number not seen"),
        Rule::yes_or_no => Say::Word("yes or no"),
        Rule::number_range => Say::Thing("a range of numbers"),
        Rule::bullet => Say::OwnLine("a bullet"),
        Rule::area_row => Say::Thing("a name of an area in double quotes"),
        Rule::area_also => Say::Word("also"),
        Rule::area_partly => Say::Word("overlaps"),
        Rule::reading => Say::Thing("a reading"),
        Rule::row => Say::Thing("a row"),
        Rule::row_excuses => Say::Word("excuses"),
        Rule::row_codes => Say::Word("codes"),
        Rule::allowance => Say::Thing("what is allowed"),
        Rule::allows_none => Say::Word("none incomplete"),
        Rule::allows_at_least => Say::Word("at least"),
        Rule::allows_at_most => Say::Word("at most"),
        Rule::pieces_alone
        | Rule::piece
        | Rule::property
        | Rule::per
        | Rule::message
        | Rule::property_from
        | Rule::property_through
        | Rule::published
        | Rule::draft
        | Rule::in_period
        | Rule::reviewed
        | Rule::could_turn
        | Rule::every_other_gives_way
        | Rule::under
        | Rule::authority
        | Rule::language
        | Rule::standing
        | Rule::adopted_only
        | Rule::concerns
        | Rule::property_where
        | Rule::gives_way
        | Rule::other_gives_way
        | Rule::taken
        | Rule::chosen
        | Rule::with
        | Rule::strikes
        | Rule::their_is_our
        | Rule::rows_from
        | Rule::observed_by
        | Rule::asks
        | Rule::takes
        | Rule::first
        | Rule::caution
        | Rule::property_on
        | Rule::known_on
        | Rule::take
        | Rule::facts
        | Rule::expect
        | Rule::brings
        | Rule::is_due
        | Rule::line => Say::OwnLine("a property"),
        Rule::way => Say::Thing("a clause"),
        Rule::any_outcome => Say::Word("any"),
        Rule::strikes_named | Rule::strikes_limit | Rule::strikes_topic | Rule::strikes_all => {
            Say::Thing("what is struck, such as `clause ID`")
        }
        Rule::condition => Say::Thing("a condition"),
        Rule::group_condition | Rule::group | Rule::join => Say::Thing("a group such as `any of`"),
        Rule::test
        | Rule::group_tests
        | Rule::every_vehicle
        | Rule::declared_area
        | Rule::same_parity
        | Rule::parity
        | Rule::no_more_than_earlier
        | Rule::counted_test
        | Rule::how_many
        | Rule::at_least_count
        | Rule::at_most_count
        | Rule::exactly_count
        | Rule::count_of
        | Rule::pair
        | Rule::codes_test
        | Rule::limit_test
        | Rule::older_limit_test
        | Rule::listed
        | Rule::phrase
        | Rule::monitor_test
        | Rule::subject_test
        | Rule::bare_phrase
        | Rule::texts
        | Rule::values
        | Rule::finding_test
        | Rule::plain_finding => Say::Thing("a test"),
        Rule::state | Rule::long_state => Say::Thing("a state of monitors"),
        Rule::bounds
        | Rule::at_least
        | Rule::at_most
        | Rule::above
        | Rule::below
        | Rule::through
        | Rule::or_later
        | Rule::or_earlier
        | Rule::exact => Say::Thing("bounds such as `at least 1`"),
        Rule::amount => Say::Thing("a number or date"),
        Rule::otherwise_ordinary
        | Rule::sound_car
        | Rule::sound
        | Rule::set_monitors
        | Rule::set_codes
        | Rule::no_codes
        | Rule::not_listed
        | Rule::set_fact
        | Rule::not_so => Say::Thing("a fact with its value"),
        Rule::kw_and => Say::Word("and"),
        Rule::kw_or => Say::Word("or"),
        Rule::kw_where => Say::Word("where"),
        Rule::kw_is => Say::Word("is"),
        Rule::kw_not => Say::Word("not"),
        Rule::kw_of => Say::Word("of"),
        Rule::kw_program => Say::Word("program"),
        Rule::kw_source => Say::Word("source"),
        Rule::kw_at => Say::Word("at"),
        Rule::kw_in_force => Say::Word("in force"),
        Rule::kw_outcomes => Say::Word("outcomes"),
        Rule::kw_age => Say::Word("age"),
        Rule::kw_age_rule => Say::Word("is test year less model year"),
        Rule::kw_plus => Say::Word("plus"),
        Rule::kw_areas => Say::Word("areas"),
        Rule::kw_also => Say::Word("also"),
        Rule::kw_overlaps => Say::Word("overlaps"),
        Rule::kw_adopted_only => Say::Word("adopted only"),
        Rule::kw_covers => Say::Word("covers"),
        Rule::kw_leaves_out => Say::Word("leaves out"),
        Rule::kw_exempts => Say::Word("exempts"),
        Rule::kw_sends_to => Say::Word("sends to"),
        Rule::kw_sends => Say::Word("sends"),
        Rule::kw_period => Say::Word("period"),
        Rule::kw_during => Say::Word("during"),
        Rule::kw_change => Say::Word("change"),
        Rule::kw_not_in_this_file => Say::Word("not in this file"),
        Rule::kw_reviewed => Say::Word("reviewed"),
        Rule::kw_against => Say::Word("against"),
        Rule::kw_every_other_clause => Say::Word("every other clause"),
        Rule::kw_not_all_of => Say::Word("not all of"),
        Rule::kw_due => Say::Word("due"),
        Rule::kw_counts => Say::Word("counts"),
        Rule::kw_monitors_not_continuous => Say::Word("monitors that are not continuous"),
        Rule::kw_unsupported_as_incomplete => Say::Word("unsupported as incomplete"),
        Rule::kw_supported_not_continuous => Say::Word("supported monitors that are not continuous"),
        Rule::kw_supported_monitors => Say::Word("supported monitors"),
        Rule::kw_among => Say::Word("among"),
        Rule::kw_excuses => Say::Word("excuses"),
        Rule::kw_each_monitor_incomplete_earlier => Say::Word("each monitor incomplete earlier"),
        Rule::kw_monitors_excused_by => Say::Word("monitors excused by"),
        Rule::kw_limit => Say::Word("limit"),
        Rule::kw_clause => Say::Word("clause"),
        Rule::kw_on => Say::Word("on"),
        Rule::kw_finding => Say::Word("finding"),
        Rule::kw_code_group => Say::Word("code group"),
        Rule::kw_text_not_seen => Say::Word("text not seen"),
        Rule::kw_text_not_seen_on => Say::Word("text not seen on"),
        Rule::kw_no_rule_applied_on => Say::Word("no rule applied on"),
        Rule::kw_number_not_seen => Say::Word("number not seen"),
        Rule::kw_text_silent_on => Say::Word("text silent on"),
        Rule::kw_adopts => Say::Word("adopts"),
        Rule::kw_as_amended => Say::Word("as amended"),
        Rule::kw_as_it_stood_on => Say::Word("as it stood on"),
        Rule::kw_question => Say::Word("question"),
        Rule::kw_option => Say::Word("option"),
        Rule::kw_table => Say::Word("table"),
        Rule::kw_presumes => Say::Word("presumes"),
        Rule::kw_where_not_known => Say::Word("where not known"),
        Rule::kw_fact => Say::Word("fact"),
        Rule::kw_yes_or_no => Say::Word("yes or no"),
        Rule::kw_through => Say::Word("through"),
        Rule::kw_result => Say::Word("result"),
        Rule::kw_outcome => Say::Word("outcome"),
        Rule::kw_becomes => Say::Word("becomes"),
        Rule::kw_consequence => Say::Word("consequence"),
        Rule::kw_note => Say::Word("note"),
        Rule::kw_after => Say::Word("after"),
        Rule::kw_by => Say::Word("by"),
        Rule::kw_alone => Say::Word("alone"),
        Rule::kw_not_expressible => Say::Word("not expressible here"),
        Rule::kw_could_turn => Say::Word("could turn"),
        Rule::kw_into => Say::Word("into"),
        Rule::kw_advice_on => Say::Word("advice on"),
        Rule::kw_ordinary => Say::Word("ordinary"),
        Rule::kw_case => Say::Word("case"),
        Rule::kw_acknowledges => Say::Word("acknowledges"),
        Rule::kw_replaces => Say::Word("replaces"),
        Rule::kw_reading => Say::Word("reading"),
        Rule::kw_codes => Say::Word("codes"),
        Rule::kw_none => Say::Word("none"),
        Rule::kw_at_least => Say::Word("at least"),
        Rule::kw_at_most => Say::Word("at most"),
        Rule::kw_exactly => Say::Word("exactly"),
        Rule::kw_only => Say::Word("only"),
        Rule::kw_complete => Say::Word("complete"),
        Rule::kw_per => Say::Word("per"),
        Rule::kw_follows_from => Say::Word("follows from"),
        Rule::kw_from => Say::Word("from"),
        Rule::kw_published => Say::Word("published"),
        Rule::kw_draft => Say::Word("draft"),
        Rule::kw_only_if => Say::Word("only if"),
        Rule::kw_is_read_as => Say::Word("is read as"),
        Rule::kw_is_chosen_as => Say::Word("is chosen as"),
        Rule::kw_authority => Say::Word("authority"),
        Rule::kw_language => Say::Word("language"),
        Rule::kw_standing => Say::Word("standing"),
        Rule::kw_concerns => Say::Word("concerns"),
        Rule::kw_gives_way_to => Say::Word("gives way to"),
        Rule::kw_any => Say::Word("any"),
        Rule::kw_left_open => Say::Word("left open"),
        Rule::kw_taken => Say::Word("taken"),
        Rule::kw_chosen => Say::Word("chosen"),
        Rule::kw_with => Say::Word("with"),
        Rule::kw_strikes => Say::Word("strikes"),
        Rule::kw_consequences => Say::Word("consequences"),
        Rule::kw_not_expressible_kind => Say::Word("not expressible"),
        Rule::kw_their => Say::Word("their"),
        Rule::kw_is_our => Say::Word("is our"),
        Rule::kw_rows_from => Say::Word("rows from"),
        Rule::kw_observed_by => Say::Word("observed by"),
        Rule::kw_asks => Say::Word("asks"),
        Rule::kw_takes => Say::Word("takes"),
        Rule::kw_minutes => Say::Word("minutes"),
        Rule::kw_first => Say::Word("first"),
        Rule::kw_caution => Say::Word("caution"),
        Rule::kw_known_on => Say::Word("known on"),
        Rule::kw_take => Say::Word("take"),
        Rule::kw_facts => Say::Word("facts"),
        Rule::kw_expect => Say::Word("expect"),
        Rule::kw_brings => Say::Word("brings"),
        Rule::kw_is_due => Say::Word("is due"),
        Rule::kw_is_not_due => Say::Word("is not due"),
        Rule::kw_requires => Say::Word("requires"),
        Rule::kw_or_else => Say::Word("or else"),
        Rule::kw_any_of => Say::Word("any of"),
        Rule::kw_all_of => Say::Word("all of"),
        Rule::kw_none_of => Say::Word("none of"),
        Rule::kw_every_vehicle => Say::Word("every vehicle"),
        Rule::kw_area_is => Say::Word("area is"),
        Rule::kw_one_of_the_areas => Say::Word("one of the areas"),
        Rule::kw_both_years => Say::Word("model year and test year have"),
        Rule::kw_same_parity => Say::Word("the same parity"),
        Rule::kw_different_parity => Say::Word("different parity"),
        Rule::kw_model_year => Say::Word("model year"),
        Rule::kw_test_year => Say::Word("test year"),
        Rule::kw_even => Say::Word("even"),
        Rule::kw_odd => Say::Word("odd"),
        Rule::kw_no_more_than_earlier => Say::Word("no more counted monitors are incomplete than earlier"),
        Rule::kw_counted_monitors => Say::Word("counted monitors"),
        Rule::kw_are => Say::Word("is` or `are"),
        Rule::kw_every => Say::Word("every"),
        Rule::kw_no => Say::Word("no"),
        Rule::kw_every_one_of => Say::Word("every one of"),
        Rule::kw_any_one_of => Say::Word("any one of"),
        Rule::kw_not_one_of => Say::Word("not one of"),
        Rule::kw_monitor_that_lit => Say::Word("monitor that lit the lamp earlier"),
        Rule::kw_monitor_incomplete_earlier => Say::Word("monitor incomplete earlier"),
        Rule::kw_on_the_list_of => Say::Word("on the list of"),
        Rule::kw_too_many => Say::Word("too many monitors are incomplete"),
        Rule::kw_not_too_many => Say::Word("not too many monitors are incomplete"),
        Rule::kw_by_limit => Say::Word("by limit"),
        Rule::kw_listed_in => Say::Word("listed in"),
        Rule::kw_on_this_vehicle => Say::Word("on this vehicle"),
        Rule::kw_incomplete => Say::Word("incomplete"),
        Rule::kw_unsupported => Say::Word("unsupported"),
        Rule::kw_supported => Say::Word("supported"),
        Rule::kw_supported_and_complete => Say::Word("supported and complete"),
        Rule::kw_complete_wherever_supported => Say::Word("complete wherever supported"),
        Rule::kw_above => Say::Word("above"),
        Rule::kw_below => Say::Word("below"),
        Rule::kw_or_later => Say::Word("or later"),
        Rule::kw_or_earlier => Say::Word("or earlier"),
        Rule::kw_otherwise_ordinary => Say::Word("otherwise ordinary"),
        Rule::kw_sound_car => Say::Word("sound car"),
        Rule::kw_sound => Say::Word("sound"),
        Rule::kw_not_known => Say::Word("not known"),
        Rule::kw_digits_only => Say::Word("digits only"),
        Rule::kw_with_letters => Say::Word("with letters"),
    }
}
