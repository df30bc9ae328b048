//! The outline of a document, the parts that fold, what stands above a clause, and the limit in force beside a test of it.

use super::document::Document;
use super::hover::declarations;
use super::names::{Name, Sort};
use super::place::{bytes, number};
use crate::report::warning::percent;
use crate::source::Span;
use crate::syntax::ast::{BulletKind, Item, Kind, PropertyKind};
use lsp_types::{
    CodeLens, Command, DocumentSymbol, FoldingRange, FoldingRangeKind, InlayHint, InlayHintKind, InlayHintLabel, Range,
    SymbolKind,
};

/// The command of the lens above a clause: runs the worked cases that the clause decides.
pub(super) const RUN: &str = "wherefore.runCases";

/// The items of a file by kind.
#[expect(deprecated, reason = "the protocol's structure still has the field")]
pub(super) fn symbols(doc: &Document) -> Vec<DocumentSymbol> {
    let Some(entry) = &doc.entry else { return Vec::new() };
    let symbol = |item: &Item| {
        let (kind, name, detail) = shown(&item.kind)?;
        let named = doc.names.iter().find(|known| {
            known.declares && known.is_written && item.span.start <= known.span.start && known.span.end <= item.span.end
        });
        let first = doc.slice(item.span).lines().next().map_or(0, str::len);
        let (start, _) = bytes(item.span);
        let selection = named.map_or(Span::new(start, start + first), |known| known.span);
        Some(DocumentSymbol {
            name,
            detail: Some(detail),
            kind,
            tags: None,
            deprecated: None,
            range: doc.range(trimmed(doc, item.span)),
            selection_range: doc.range(selection),
            children: None,
        })
    };
    entry.file.items.iter().filter_map(symbol).collect()
}

/// The span without what is blank at its end.
fn trimmed(doc: &Document, span: Span) -> Span {
    let (start, _) = bytes(span);
    Span::new(start, start + doc.slice(span).trim_end().len())
}

fn shown(kind: &Kind) -> Option<(SymbolKind, String, String)> {
    let told = |kind, name: &str, detail: &str| Some((kind, name.to_owned(), detail.to_owned()));
    match kind {
        Kind::Program { id, title } => told(SymbolKind::MODULE, &id.node, &title.node),
        Kind::Source { id, title, .. } => told(SymbolKind::FILE, &id.node, &title.node),
        Kind::Outcomes(_) => told(SymbolKind::ENUM, "outcomes", ""),
        Kind::Limit { id } => told(
            SymbolKind::CONSTANT,
            &id.as_ref().map_or("limit".to_owned(), |id| format!("limit {}", id.node)),
            "limit",
        ),
        Kind::Clause { id, topic } => told(SymbolKind::FUNCTION, &id.node, &format!("clause on {}", topic.node)),
        Kind::Finding { id, .. } => told(SymbolKind::BOOLEAN, &id.node, "finding"),
        Kind::CodeGroup { id, .. } => told(SymbolKind::ARRAY, &id.node, "code group"),
        Kind::Question { id, text } => told(SymbolKind::ENUM, &id.node, &text.node),
        Kind::Option { id, text, .. } => told(SymbolKind::ENUM, &id.node, &text.node),
        Kind::Table { id } => told(SymbolKind::STRUCT, &id.node, "table"),
        Kind::Fact { name, .. } => told(SymbolKind::FIELD, &name.node, "fact"),
        Kind::Result { name, .. } => told(SymbolKind::FIELD, &name.node, "result"),
        Kind::Period { id } => told(SymbolKind::CONSTANT, &id.node, "period"),
        Kind::Change { id, text, .. } => told(SymbolKind::EVENT, &id.node, &text.node),
        Kind::Adopts { program, .. } => told(SymbolKind::NAMESPACE, &format!("adopts {}", program.node), ""),
        Kind::Case { title } if !title.node.is_empty() => told(SymbolKind::OBJECT, &title.node, "case"),
        Kind::Covers(_) => told(SymbolKind::OPERATOR, "covers", ""),
        Kind::LeavesOut { .. } => told(SymbolKind::OPERATOR, "leaves out", ""),
        Kind::Exempts { .. } => told(SymbolKind::OPERATOR, "exempts", ""),
        Kind::Sends { .. } => told(SymbolKind::OPERATOR, "sends to", ""),
        _ => None,
    }
}

/// Items of several lines, and comments of several lines.
pub(super) fn folding(doc: &Document) -> Vec<FoldingRange> {
    let fold = |from: usize, through: usize, kind: Option<FoldingRangeKind>| {
        (through > from).then(|| FoldingRange {
            start_line: number(from),
            end_line: number(through),
            kind,
            ..FoldingRange::default()
        })
    };
    let mut found = Vec::new();
    let (mut item, mut comment): (Option<usize>, Option<usize>) = (None, None);
    let mut last = 0;
    for line in 0..=doc.lines.count() {
        let text = if line < doc.lines.count() { doc.lines.line(&doc.text, line) } else { "end" };
        let is_comment = text.starts_with('#');
        if !is_comment && let Some(from) = comment.take() {
            found.extend(fold(from, line.saturating_sub(1), Some(FoldingRangeKind::Comment)));
        }
        // Blank lines belong to neither: what stands indented after them still belongs to the item.
        if !text.is_empty() && !text.starts_with([' ', '\t']) {
            found.extend(item.take().and_then(|from| fold(from, last, None)));
            match is_comment {
                true => comment = comment.or(Some(line)),
                false => item = Some(line),
            }
        }
        if !text.trim().is_empty() {
            last = line;
        }
    }
    found.sort_by_key(|fold| fold.start_line);
    found
}

/// Above each clause: how much it decides, by how many worked cases that is shown, and a command that runs them.
pub(super) fn lenses(doc: &Document) -> Vec<CodeLens> {
    let Some(study) = &doc.study else { return Vec::new() };
    let clauses = doc.names.iter().filter(|name| name.declares && name.sort == Sort::Clause);
    let lens = |name: &Name| {
        let cases = study.decided.get(&name.name).map_or(0, Vec::len);
        let cases = if cases == 1 { "1 case".to_owned() } else { format!("{cases} cases") };
        let share =
            study.decides.get(&name.name).map(|share| format!("decides {} of covered vehicles · ", percent(*share)));
        let title = format!("{}{cases} · run", share.unwrap_or_default());
        let arguments = Some(vec![doc.uri.as_str().into(), name.name.clone().into()]);
        CodeLens {
            range: doc.range(name.span),
            command: Some(Command { title, command: RUN.to_owned(), arguments }),
            data: None,
        }
    };
    clauses.map(lens).collect()
}

/// Behind each test of a limit, its rows in the version that begins last.
pub(super) fn inlays(doc: &Document, range: Range) -> Vec<InlayHint> {
    let (first, last) = doc.bytes(range);
    let tests = doc.names.iter().filter(|name| name.sort == Sort::Limit && !name.declares);
    let within = tests.filter(|name| {
        let (start, end) = bytes(name.span);
        first <= end && start <= last
    });
    let hint = |name: &Name| {
        let rows = limit_rows(doc, name);
        (!rows.is_empty()).then(|| InlayHint {
            position: doc.range(name.span).end,
            label: InlayHintLabel::String(format!("({rows})")),
            kind: Some(InlayHintKind::PARAMETER),
            text_edits: None,
            tooltip: None,
            padding_left: Some(true),
            padding_right: None,
            data: None,
        })
    };
    within.filter_map(hint).collect()
}

/// The rows of a limit as they are written, on one line.
fn limit_rows(doc: &Document, name: &Name) -> String {
    let from = |item: &Item| {
        let day = item.properties.iter().find_map(|property| match &property.kind {
            PropertyKind::From(day) => Some(day.node.clone()),
            _ => None,
        });
        day.unwrap_or_default()
    };
    let versions = declarations(doc, name);
    let Some(latest) = versions.iter().max_by_key(|one| from(one.item)) else { return String::new() };
    let rows = latest.item.properties.iter().filter_map(|property| match &property.kind {
        PropertyKind::Bullet(bullet) => match &bullet.kind {
            BulletKind::LimitRow { .. } => {
                let text = latest.entry.source.slice(property.span);
                let row = text.trim_start_matches(['-', ' ']).lines().next().unwrap_or("");
                Some(row.trim_start_matches("every vehicle: ").trim().to_owned())
            }
            _ => None,
        },
        _ => None,
    });
    rows.collect::<Vec<_>>().join("; ")
}
