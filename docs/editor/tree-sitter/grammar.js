/**
 * Program files of Wherefore for editors: items with their lines, and the kinds of words. It tells structure and colour;
 * `grammar/wherefore.pest` is the grammar. The lists of keywords are compared with the program's own by a test.
 */

// Items that define a name, and the others. `limit` may have one.
const NAMED = [
  "program", "source", "period", "change", "clause", "finding", "code group", "question", "option", "table", "fact", "result",
];
const UNNAMED = [
  "in force", "outcomes", "age", "areas", "covers", "leaves out", "exempts", "sends to", "due", "counts", "excuses",
  "text silent on", "no rule applied on", "text not seen on", "silent on", "unread on", "adopts", "presumes", "outcome", "consequence", "note", "not expressible here", "advice on", "ordinary", "case",
  "acknowledges",
];
// What begins a line of an item; `under` and `in` are words of older files, as `silent on`, `unread on` and `text not seen on`
// are above.
const PROPERTIES = [
  "per", "in force from", "in force through", "in force during", "from", "through", "published", "in", "draft", "reviewed",
  "could turn", "every other clause", "only if", "under", "authority",
  "language", "standing", "adopted only", "concerns", "where", "requires", "gives way to", "taken", "left open", "chosen", "with", "strikes",
  "their", "rows from", "observed by", "asks", "takes", "first", "caution", "on", "known on", "take", "facts", "expect",
  "brings", "is due", "is not due", "follows from",
];
// What joins tests, and says how things are compared.
const OPERATORS = [
  "and", "or", "not", "is", "any", "all", "none", "every", "no", "only", "among", "at", "least", "most", "exactly", "above",
  "below", "later", "earlier", "through", "else", "where", "of", "otherwise",
  "per", "on", "by",
];
const UNITS = ["lb", "kg", "km", "miles", "mile", "minutes", "minute", "hours", "hour", "days", "day"];

const phrase = (text) => {
  const words = text.split(" ");
  return words.length > 1 ? seq(...words) : words[0];
};
const phrases = (list) => choice(...list.map(phrase));

module.exports = grammar({
  name: "wherefore",
  word: ($) => $.name,
  extras: ($) => [/[ \t\r\f]/, $.comment],

  rules: {
    source_file: ($) => seq(optional($.item), repeat(choice(seq($._newline, optional($.item)), $._continuation))),

    item: ($) => prec.right(seq(
      optional($.replaces),
      choice(
        seq(alias($._named_head, $.keyword), field("name", $.name), repeat($._element)),
        seq(alias($._limit_head, $.keyword), optional(field("name", $.name))),
        seq(alias($._head, $.keyword), repeat($._element)),
      ),
      repeat($._continuation),
    )),
    replaces: () => "replaces",
    _named_head: () => phrases(NAMED),
    _limit_head: () => "limit",
    _head: () => phrases(UNNAMED),

    _continuation: ($) => prec.right(seq($._indent, optional(choice($.bullet, $.property, $.line)))),
    bullet: ($) => prec.right(seq("-", repeat($._element))),
    property: ($) => prec.right(2, seq(alias($._property_head, $.keyword), repeat($._element))),
    _property_head: () => prec(2, phrases(PROPERTIES)),
    // A line of a clause, a message, or the rest of what stands above.
    line: ($) => prec.right(repeat1($._element)),

    _element: ($) => choice(
      $.text, $.date, $.number, $.code, $.finding_code, $.operator, $.unit, $.name, $._mark,
    ),
    _mark: () => choice(",", ";", ":", "(", ")"),
    operator: () => prec(1, phrases(OPERATORS)),
    unit: () => choice(...UNITS),

    comment: () => token(/#[^\r\n]*/),
    text: () => token(/"([^"\\\r\n]|\\["\\])*"/),
    date: () => token(prec(2, /[0-9]{4}-[0-9]{2}-[0-9]{2}/)),
    number: () => token(prec(1, /[0-9]+/)),
    code: () => token(prec(2, /[PCBU][0-9A-Fx]{4}(-[0-9A-Fx]{2})?|SPN[ \t]+[0-9]+[ \t]+FMI[ \t]+[0-9]+/)),
    finding_code: () => token(prec(2, /[a-z]+\/[a-z-]+/)),
    name: () => /VIN|[a-z][a-z0-9]*(-[a-z0-9]+)*/,

    // Blank lines belong to what ends them: a line at the margin, or an indented one.
    _newline: () => token(/(\r?\n[ \t]*)*\r?\n/),
    _indent: () => token(/(\r?\n[ \t]*)*\r?\n[ \t]+/),
  },
});
