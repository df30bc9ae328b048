(comment) @comment
(text) @string
[(number) (date)] @number
(code) @constant
(finding_code) @constant
(unit) @type
(operator) @keyword.operator
(replaces) @keyword.modifier
(property (keyword) @property)
(item (keyword) @keyword)
(item name: (name) @function)
(bullet "-" @punctuation.special)
