//! The mutants of a file: a walk over its syntax tree. What cannot be told without types is tried, and left out where it
//! does not compile.

use crate::kinds;
use crate::mutant::{Change, Edit, Mutant, Part};
use std::collections::BTreeMap;
use std::ops::Range;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};
use syn::{Attribute, BinOp, Block, Expr, Lit, Pat, ReturnType, Signature, Stmt, UnOp};

/// The mutants of one file and where they stand.
#[derive(Debug)]
pub struct Found {
    pub mutants: Vec<Mutant>,
    pub edits: Vec<Edit>,
}

/// Finds them; `first` is the number of the first.
pub fn find(module: &str, file: &str, source: &str, first: u32) -> Result<Found, String> {
    let tree = syn::parse_file(source).map_err(|error| format!("{file}: {error}"))?;
    let place = file.trim_start_matches("src/").trim_end_matches(".rs").to_owned();
    let mut finder = Finder {
        module,
        file,
        source,
        first,
        path: vec![place],
        found: Found { mutants: Vec::new(), edits: Vec::new() },
        keys: BTreeMap::new(),
        is_condition: false,
    };
    finder.visit_file(&tree);
    proc_macro2::extra::invalidate_current_thread_spans();
    Ok(finder.found)
}

struct Finder<'a> {
    module: &'a str,
    file: &'a str,
    source: &'a str,
    first: u32,
    /// The file and the items around.
    path: Vec<String>,
    found: Found,
    keys: BTreeMap<String, usize>,
    /// Whether the next expression is all of a condition, which is tried as true and as false already.
    is_condition: bool,
}

fn range(node: &impl Spanned) -> Range<usize> {
    node.span().byte_range()
}

fn one_line(text: &str) -> String {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.chars().count() > 60 { text.chars().take(59).chain(['…']).collect() } else { text }
}

impl Finder<'_> {
    /// A mutant of what stands at a place, with its number.
    fn mutant(&mut self, at: Range<usize>, becomes: &str) -> u32 {
        let line_start = self.source[..at.start].rfind('\n').map_or(0, |end| end + 1);
        let line_text = self.source[line_start..].lines().next().unwrap_or("").trim();
        let written = one_line(&self.source[at.clone()]);
        let mut key = format!("{} | {line_text} | {written} => {becomes}", self.path.join("::"));
        let seen = self.keys.entry(key.clone()).or_insert(0);
        *seen += 1;
        if *seen > 1 {
            key = format!("{key} #{seen}");
        }
        let line = self.source[..at.start].matches('\n').count() + 1;
        let (module, file) = (self.module.to_owned(), self.file.to_owned());
        self.found.mutants.push(Mutant { module, file, line, key });
        self.first + u32::try_from(self.found.mutants.len()).unwrap_or(0) - 1
    }

    fn edit(&mut self, at: &Range<usize>, changes: Vec<(u32, Change)>) {
        self.found.edits.push(Edit { start: at.start, end: at.end, changes });
    }

    fn turned(&mut self, at: Range<usize>) {
        let number = self.mutant(at.clone(), "turned");
        self.edit(&at, vec![(number, Change::Turned)]);
    }

    /// An expression in which one run of bytes becomes another text.
    fn exchanged(&mut self, at: &Range<usize>, part: &Range<usize>, text: &str) -> (u32, Change) {
        let number = self.mutant(at.clone(), text);
        let parts =
            vec![Part::Written(at.start, part.start), Part::Text(text.to_owned()), Part::Written(part.end, at.end)];
        (number, Change::Instead(parts))
    }

    fn condition(&mut self, condition: &Expr, tried_as_true: bool) {
        let at = range(condition);
        if has_let(condition) {
            let number = self.mutant(at.clone(), "false");
            self.edit(&at, vec![(number, Change::NeverLet)]);
        } else {
            let mut changes = vec![(self.mutant(at.clone(), "false"), Change::Never)];
            if tried_as_true {
                changes.push((self.mutant(at.clone(), "true"), Change::Always));
            }
            self.edit(&at, changes);
            self.is_condition = true;
        }
        self.visit_expr(condition);
        self.is_condition = false;
    }

    fn binary(&mut self, binary: &syn::ExprBinary, at: &Range<usize>, is_condition: bool) {
        let (left, operator, right) = (range(&binary.left), range(&binary.op), range(&binary.right));
        let assigns = kinds::assigning(&binary.op);
        let mut changes = Vec::new();
        let joins_let = matches!(binary.op, BinOp::And(_)) && (has_let(&binary.left) || has_let(&binary.right));
        if let Some(other) = kinds::operator(&binary.op).filter(|_| !joins_let) {
            let number = self.mutant(at.clone(), &format!("… {other} …"));
            let bracket = |text: &str| Part::Text(if assigns { String::new() } else { text.to_owned() });
            let parts = vec![
                bracket("("),
                Part::Written(left.start, left.end),
                bracket(")"),
                Part::Text(format!(" {other} ")),
                bracket("("),
                Part::Written(right.start, right.end),
                bracket(")"),
            ];
            changes.push((number, Change::Instead(parts)));
        }
        if kinds::compares(&binary.op) && !is_condition {
            let written = self.source[operator].to_owned();
            changes.push((self.mutant(at.clone(), &format!("not {written}")), Change::Turned));
        }
        if !changes.is_empty() {
            self.edit(at, changes);
        }
    }

    fn call(&mut self, call: &syn::ExprMethodCall, at: &Range<usize>, is_condition: bool) {
        let name = call.method.to_string();
        if kinds::TRUTHS.contains(&name.as_str()) && !is_condition {
            self.turned(at.clone());
        } else if let Some(other) = kinds::method(&name) {
            let change = self.exchanged(at, &range(&call.method), other);
            self.edit(at, vec![change]);
        }
    }

    fn literal(&mut self, literal: &Lit, at: &Range<usize>) {
        match literal {
            Lit::Bool(_) => self.turned(at.clone()),
            Lit::Int(int) => {
                let Some(more) = int.base10_parse::<u128>().ok().and_then(|value| value.checked_add(1)) else { return };
                let text = format!("{more}{}", int.suffix());
                let number = self.mutant(at.clone(), &text);
                self.edit(at, vec![(number, Change::Instead(vec![Part::Text(text)]))]);
            }
            _ => {}
        }
    }

    fn arms(&mut self, arms: &[syn::Arm]) {
        let falls_through = arms.last().is_some_and(|arm| arm.guard.is_none() && takes_all(&arm.pat));
        for (place, arm) in arms.iter().enumerate() {
            let at = range(&arm.pat);
            match &arm.guard {
                Some((_, guard)) => self.condition(guard, true),
                None if falls_through && place + 1 < arms.len() => {
                    let number = self.mutant(at.clone(), "arm left out");
                    let text = " if !crate::mutant::on(NUMBER)".to_owned();
                    self.edit(&(at.end..at.end), vec![(number, Change::PutIn(text))]);
                }
                None => {}
            }
            self.visit_expr(&arm.body);
        }
    }

    fn function(&mut self, attributes: &[Attribute], signature: &Signature, block: &Block, whole: Range<usize>) {
        if is_of_tests(attributes) || signature.constness.is_some() {
            return;
        }
        self.path.push(signature.ident.to_string());
        self.edit(&whole, Vec::new());
        let start = range(&block.brace_token.span.open()).end;
        let name = range(&signature.ident);
        let only = match block.stmts.as_slice() {
            [Stmt::Expr(only, None)] => self.source[range(only)].to_owned(),
            _ => String::new(),
        };
        let values = match &signature.output {
            ReturnType::Default => vec![String::new()],
            ReturnType::Type(_, kind) => kinds::values(kind),
        };
        for value in values.iter().filter(|value| **value != only) {
            if value.is_empty() && block.stmts.len() == 1 && matches!(block.stmts[0], Stmt::Expr(_, Some(_))) {
                // The one statement is left out anyway.
                continue;
            }
            let number = self.mutant(name.clone(), format!("return {value}").trim_end());
            let text = format!(" if crate::mutant::on(NUMBER) {{ return {value}; }}");
            self.edit(&(start..start), vec![(number, Change::PutIn(text))]);
        }
        self.visit_block(block);
        self.path.pop();
    }
}

/// Whether a condition has a `let` in its chain.
fn has_let(condition: &Expr) -> bool {
    match condition {
        Expr::Let(_) => true,
        Expr::Binary(binary) => matches!(binary.op, BinOp::And(_)) && (has_let(&binary.left) || has_let(&binary.right)),
        _ => false,
    }
}

/// Whether an arm takes whatever is left.
fn takes_all(pattern: &Pat) -> bool {
    match pattern {
        Pat::Wild(_) => true,
        Pat::Ident(name) => {
            name.subpat.is_none() && name.ident.to_string().starts_with(|first: char| first.is_lowercase())
        }
        _ => false,
    }
}

/// `#[cfg(test)]`, `#[test]`.
fn is_of_tests(attributes: &[Attribute]) -> bool {
    attributes.iter().any(|attribute| match &attribute.meta {
        syn::Meta::Path(path) => path.is_ident("test"),
        syn::Meta::List(list) => list.path.is_ident("cfg") && list.tokens.to_string() == "test",
        syn::Meta::NameValue(_) => false,
    })
}

fn name_of(kind: &syn::Type) -> String {
    match kind {
        syn::Type::Path(path) => path.path.segments.last().map(|last| last.ident.to_string()).unwrap_or_default(),
        syn::Type::Reference(reference) => name_of(&reference.elem),
        _ => "_".to_owned(),
    }
}

impl<'ast> Visit<'ast> for Finder<'_> {
    fn visit_expr(&mut self, expr: &'ast Expr) {
        let is_condition = std::mem::take(&mut self.is_condition);
        let at = range(expr);
        if self.source[at.clone()].starts_with('#') {
            return visit::visit_expr(self, expr);
        }
        match expr {
            Expr::Binary(binary) => {
                self.binary(binary, &at, is_condition);
                visit::visit_expr(self, expr);
            }
            Expr::Unary(unary) if !matches!(unary.op, UnOp::Deref(_)) => {
                if !is_condition {
                    let (operator, operand) = (range(&unary.op), range(&unary.expr));
                    let number = self.mutant(at.clone(), &format!("without {}", &self.source[operator]));
                    let parts = vec![Part::Written(operand.start, operand.end)];
                    self.edit(&at, vec![(number, Change::Instead(parts))]);
                }
                self.is_condition = matches!(unary.op, UnOp::Not(_));
                self.visit_expr(&unary.expr);
                self.is_condition = false;
            }
            Expr::Paren(paren) => {
                self.is_condition = is_condition;
                self.visit_expr(&paren.expr);
            }
            Expr::MethodCall(call) => {
                self.call(call, &at, is_condition);
                visit::visit_expr(self, expr);
            }
            Expr::Macro(made) if made.mac.path.is_ident("matches") && !is_condition => self.turned(at),
            Expr::Lit(literal) => self.literal(&literal.lit, &at),
            Expr::If(choice) => {
                self.condition(&choice.cond, true);
                self.visit_block(&choice.then_branch);
                if let Some((_, other)) = &choice.else_branch {
                    self.visit_expr(other);
                }
            }
            Expr::While(again) => {
                self.condition(&again.cond, false);
                self.visit_block(&again.body);
            }
            Expr::Match(choice) => {
                self.visit_expr(&choice.expr);
                self.arms(&choice.arms);
            }
            Expr::Repeat(repeat) => self.visit_expr(&repeat.expr),
            Expr::Const(_) => {}
            _ => visit::visit_expr(self, expr),
        }
    }

    fn visit_stmt(&mut self, statement: &'ast Stmt) {
        if let Stmt::Expr(Expr::MethodCall(_) | Expr::Call(_) | Expr::Try(_) | Expr::Assign(_), Some(_)) = statement {
            let at = range(statement);
            if !self.source[at.clone()].starts_with('#') {
                let number = self.mutant(at.clone(), "left out");
                self.edit(&at, vec![(number, Change::LeftOut)]);
            }
        }
        visit::visit_stmt(self, statement);
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.function(&item.attrs, &item.sig, &item.block, range(item));
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.function(&item.attrs, &item.sig, &item.block, range(item));
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(block) = &item.default {
            self.function(&item.attrs, &item.sig, block, range(item));
        }
    }

    fn visit_item_impl(&mut self, item: &'ast syn::ItemImpl) {
        if is_of_tests(&item.attrs) {
            return;
        }
        self.path.push(name_of(&item.self_ty));
        item.items.iter().for_each(|item| self.visit_impl_item(item));
        self.path.pop();
    }

    fn visit_item_trait(&mut self, item: &'ast syn::ItemTrait) {
        self.path.push(item.ident.to_string());
        item.items.iter().for_each(|item| self.visit_trait_item(item));
        self.path.pop();
    }

    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !is_of_tests(&item.attrs) {
            self.path.push(item.ident.to_string());
            visit::visit_item_mod(self, item);
            self.path.pop();
        }
    }

    // What is calculated while the crate is built, what is matched and what is no expression has no switch.
    fn visit_item_const(&mut self, _: &'ast syn::ItemConst) {}
    fn visit_item_static(&mut self, _: &'ast syn::ItemStatic) {}
    fn visit_impl_item_const(&mut self, _: &'ast syn::ImplItemConst) {}
    fn visit_trait_item_const(&mut self, _: &'ast syn::TraitItemConst) {}
    fn visit_item_enum(&mut self, _: &'ast syn::ItemEnum) {}
    fn visit_item_macro(&mut self, _: &'ast syn::ItemMacro) {}
    fn visit_macro(&mut self, _: &'ast syn::Macro) {}
    fn visit_attribute(&mut self, _: &'ast Attribute) {}
    fn visit_type(&mut self, _: &'ast syn::Type) {}
    fn visit_pat(&mut self, _: &'ast Pat) {}
    fn visit_generic_argument(&mut self, _: &'ast syn::GenericArgument) {}
}
