//! What becomes what.

use syn::{BinOp, GenericArgument, PathArguments, Type};

/// Methods that say a truth value, by their names.
pub const TRUTHS: [&str; 13] = [
    "is_some",
    "is_none",
    "is_ok",
    "is_err",
    "is_empty",
    "contains",
    "contains_key",
    "starts_with",
    "ends_with",
    "is_some_and",
    "is_none_or",
    "is_subset",
    "is_superset",
];

/// Methods that are mistaken for each other.
const METHODS: [(&str, &str); 12] = [
    ("saturating_add", "saturating_sub"),
    ("checked_add", "checked_sub"),
    ("wrapping_add", "wrapping_sub"),
    ("any", "all"),
    ("min", "max"),
    ("min_by_key", "max_by_key"),
    ("first", "last"),
    ("and", "or"),
    ("union", "intersection"),
    ("take_while", "skip_while"),
    ("take", "skip"),
    ("trim_start_matches", "trim_end_matches"),
];

/// The method that a method is mistaken for.
pub fn method(name: &str) -> Option<&'static str> {
    METHODS.iter().find_map(|(one, other)| match name {
        _ if name == *one => Some(*other),
        _ if name == *other => Some(*one),
        _ => None,
    })
}

/// The operator instead of another. Of comparisons, where the boundary lies; they are turned besides.
pub fn operator(operator: &BinOp) -> Option<&'static str> {
    Some(match operator {
        BinOp::Lt(_) => "<=",
        BinOp::Le(_) => "<",
        BinOp::Gt(_) => ">=",
        BinOp::Ge(_) => ">",
        BinOp::And(_) => "||",
        BinOp::Or(_) => "&&",
        BinOp::Add(_) => "-",
        BinOp::Sub(_) => "+",
        BinOp::Mul(_) => "+",
        BinOp::Div(_) => "*",
        BinOp::Rem(_) => "/",
        BinOp::BitAnd(_) => "|",
        BinOp::BitOr(_) => "&",
        BinOp::BitXor(_) => "&",
        BinOp::Shl(_) => ">>",
        BinOp::Shr(_) => "<<",
        BinOp::AddAssign(_) => "-=",
        BinOp::SubAssign(_) => "+=",
        BinOp::MulAssign(_) => "+=",
        BinOp::BitAndAssign(_) => "|=",
        BinOp::BitOrAssign(_) => "&=",
        BinOp::BitXorAssign(_) => "&=",
        BinOp::ShlAssign(_) => ">>=",
        BinOp::ShrAssign(_) => "<<=",
        _ => return None,
    })
}

/// Whether an operator compares.
pub fn compares(operator: &BinOp) -> bool {
    matches!(operator, BinOp::Eq(_) | BinOp::Ne(_) | BinOp::Lt(_) | BinOp::Le(_) | BinOp::Gt(_) | BinOp::Ge(_))
}

/// Whether an operator changes its left side.
pub fn assigning(operator: &BinOp) -> bool {
    matches!(
        operator,
        BinOp::AddAssign(_)
            | BinOp::SubAssign(_)
            | BinOp::MulAssign(_)
            | BinOp::BitAndAssign(_)
            | BinOp::BitOrAssign(_)
            | BinOp::BitXorAssign(_)
            | BinOp::ShlAssign(_)
            | BinOp::ShrAssign(_)
    )
}

/// Values that a function of a type may return at once; none where the name of the type says too little.
pub fn values(kind: &Type) -> Vec<String> {
    let none = Vec::new();
    match kind {
        Type::Tuple(tuple) if tuple.elems.is_empty() => vec![String::new()],
        Type::Reference(reference) => match &*reference.elem {
            Type::Path(path) if path.path.is_ident("str") => vec!["\"\"".to_owned()],
            Type::Slice(_) if reference.mutability.is_none() => vec!["&[]".to_owned()],
            _ => none,
        },
        Type::Path(path) => {
            let Some(last) = path.path.segments.last() else { return none };
            let inner = match &last.arguments {
                PathArguments::AngleBracketed(inner) => inner.args.first(),
                _ => None,
            };
            match last.ident.to_string().as_str() {
                "bool" => vec!["true".to_owned(), "false".to_owned()],
                "u8" | "u16" | "u32" | "u64" | "u128" | "usize" | "i16" | "i32" | "i64" => {
                    vec!["0".to_owned(), "1".to_owned()]
                }
                "Option" => vec!["None".to_owned()],
                "String" => vec!["String::new()".to_owned()],
                "Vec" => vec!["Vec::new()".to_owned()],
                "BTreeMap" => vec!["BTreeMap::new()".to_owned()],
                "BTreeSet" => vec!["BTreeSet::new()".to_owned()],
                "Result" => match inner {
                    None => vec!["Ok(())".to_owned()],
                    Some(GenericArgument::Type(Type::Tuple(inner))) if !inner.elems.is_empty() => none,
                    Some(GenericArgument::Type(inner)) => {
                        values(inner).iter().map(|value| if value.is_empty() { "()" } else { value }).map(ok).collect()
                    }
                    Some(_) => none,
                },
                _ => none,
            }
        }
        _ => none,
    }
}

fn ok(value: &str) -> String {
    format!("Ok({value})")
}
