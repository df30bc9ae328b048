//! Messages in, messages out.

use super::document::Document;
use super::study::{Job, Study};
use super::{complete, fix, hover, messages, rename, signature, symbols, tokens};
use crate::catalog::{Files, Over, cases};
use lsp_server::{ErrorCode, Message, Notification, Request, Response};
use lsp_types as lsp;
use lsp_types::notification::{self as told, Notification as _};
use lsp_types::request::{self as asked, Request as _};
use lsp_types::{OneOf, Uri};
use std::collections::BTreeMap;

/// The language server: the documents that are open, over the files on the disk.
pub struct Server {
    disk: Box<dyn Files>,
    docs: BTreeMap<String, Document>,
}

impl std::fmt::Debug for Server {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Server").field("open", &self.docs.keys().collect::<Vec<_>>()).finish_non_exhaustive()
    }
}

/// What the server can do, as it answers to `initialize`.
#[must_use]
pub fn capabilities() -> lsp::ServerCapabilities {
    let actions = lsp::CodeActionOptions {
        code_action_kinds: Some(vec![lsp::CodeActionKind::QUICKFIX, lsp::CodeActionKind::REFACTOR_REWRITE]),
        ..lsp::CodeActionOptions::default()
    };
    let marks = |marks: &[&str]| Some(marks.iter().map(|mark| (*mark).to_owned()).collect::<Vec<String>>());
    lsp::ServerCapabilities {
        text_document_sync: Some(lsp::TextDocumentSyncCapability::Kind(lsp::TextDocumentSyncKind::INCREMENTAL)),
        hover_provider: Some(lsp::HoverProviderCapability::Simple(true)),
        completion_provider: Some(lsp::CompletionOptions {
            trigger_characters: marks(&[" ", "\"", ":"]),
            ..lsp::CompletionOptions::default()
        }),
        signature_help_provider: Some(lsp::SignatureHelpOptions {
            trigger_characters: marks(&[" "]),
            ..lsp::SignatureHelpOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(lsp::CodeActionProviderCapability::Options(actions)),
        code_lens_provider: Some(lsp::CodeLensOptions { resolve_provider: Some(false) }),
        document_formatting_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(lsp::RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: lsp::WorkDoneProgressOptions::default(),
        })),
        folding_range_provider: Some(lsp::FoldingRangeProviderCapability::Simple(true)),
        execute_command_provider: Some(lsp::ExecuteCommandOptions {
            commands: vec![symbols::RUN.to_owned()],
            ..lsp::ExecuteCommandOptions::default()
        }),
        semantic_tokens_provider: Some(lsp::SemanticTokensServerCapabilities::SemanticTokensOptions(
            lsp::SemanticTokensOptions {
                legend: tokens::legend(),
                full: Some(lsp::SemanticTokensFullOptions::Bool(true)),
                ..lsp::SemanticTokensOptions::default()
            },
        )),
        inlay_hint_provider: Some(OneOf::Left(true)),
        ..lsp::ServerCapabilities::default()
    }
}

impl Server {
    /// A server over the program files of a disk.
    #[must_use]
    pub fn new(disk: Box<dyn Files>) -> Server {
        Server { disk, docs: BTreeMap::new() }
    }

    /// The files of the disk have changed: every open document is read again. Returns their messages.
    pub fn on_disk(&mut self, disk: Box<dyn Files>) -> Vec<Message> {
        self.disk = disk;
        let open: Vec<String> = self.docs.keys().cloned().collect();
        open.iter().flat_map(|uri| self.read(uri)).collect()
    }

    /// Takes a message, and returns what is to be sent: an answer to each request, and messages about documents.
    pub fn handle(&mut self, message: Message) -> Vec<Message> {
        match message {
            Message::Request(request) => self.request(request),
            Message::Notification(notification) => self.notification(notification),
            Message::Response(_) => Vec::new(),
        }
    }

    /// Documents to be studied, each as it stands.
    #[must_use]
    pub fn jobs(&self) -> Vec<Job> {
        let job = |(uri, doc): (&String, &Document)| {
            let entry = doc.entry.clone()?;
            doc.study.is_none().then(|| Job { name: uri.clone(), version: doc.version, entry })
        };
        self.docs.iter().filter_map(job).collect()
    }

    /// Takes what was found of a document; of a text that has changed since it is dropped.
    pub fn studied(&mut self, study: Study) -> Vec<Message> {
        match self.docs.get_mut(&study.name).filter(|doc| doc.version == study.version) {
            Some(doc) => {
                doc.study = Some(study);
                vec![published(doc)]
            }
            None => Vec::new(),
        }
    }

    fn notification(&mut self, notification: Notification) -> Vec<Message> {
        let params = notification.params;
        match notification.method.as_str() {
            told::DidOpenTextDocument::METHOD => {
                let Ok(open) = serde_json::from_value::<lsp::DidOpenTextDocumentParams>(params) else {
                    return Vec::new();
                };
                let document = open.text_document;
                let uri = document.uri.as_str().to_owned();
                self.docs.insert(uri.clone(), Document::new(document.uri, document.version, document.text));
                self.changed(&uri)
            }
            told::DidChangeTextDocument::METHOD => {
                let Ok(change) = serde_json::from_value::<lsp::DidChangeTextDocumentParams>(params) else {
                    return Vec::new();
                };
                let uri = change.text_document.uri.as_str().to_owned();
                if let Some(doc) = self.docs.get_mut(&uri) {
                    doc.change(change.text_document.version, change.content_changes);
                }
                self.changed(&uri)
            }
            told::DidCloseTextDocument::METHOD => {
                let Ok(close) = serde_json::from_value::<lsp::DidCloseTextDocumentParams>(params) else {
                    return Vec::new();
                };
                let uri = close.text_document.uri;
                self.docs.remove(uri.as_str());
                vec![publish(uri, Vec::new(), None)]
            }
            _ => Vec::new(),
        }
    }

    /// A document has changed: it is read again, and with it the open ones that adopt it.
    fn changed(&mut self, uri: &str) -> Vec<Message> {
        let mut sent = self.read(uri);
        let name = self.docs.get(uri).map(|doc| doc.name.clone()).unwrap_or_default();
        let adopts = |doc: &Document| doc.adopted.iter().any(|entry| entry.source.name() == name);
        let others: Vec<String> = self
            .docs
            .iter()
            .filter(|(other, doc)| *other != uri && adopts(doc))
            .map(|(other, _)| other.clone())
            .collect();
        for other in others {
            sent.extend(self.read(&other));
        }
        sent
    }

    fn read(&mut self, uri: &str) -> Vec<Message> {
        let Some(mut doc) = self.docs.remove(uri) else { return Vec::new() };
        let (name, text) = (doc.name.clone(), doc.text.clone());
        let mut open = self.open();
        open.insert(&name, &text);
        doc.study = None;
        doc.read(&Over { under: self.disk.as_ref(), texts: open });
        let sent = published(&doc);
        self.docs.insert(uri.to_owned(), doc);
        vec![sent]
    }

    fn open(&self) -> BTreeMap<&str, &str> {
        self.docs.values().map(|doc| (doc.name.as_str(), doc.text.as_str())).collect()
    }

    fn shelf(&self) -> Over<'_> {
        Over { under: self.disk.as_ref(), texts: self.open() }
    }

    fn request(&mut self, request: Request) -> Vec<Message> {
        match request.method.as_str() {
            asked::HoverRequest::METHOD => self.answer::<asked::HoverRequest>(request, Server::hover),
            asked::Completion::METHOD => self.answer::<asked::Completion>(request, |server, asked| {
                let at = asked.text_document_position;
                let doc = server.doc(&at.text_document.uri)?;
                let items = complete::complete(doc, at.position);
                Some(Ok(Some(lsp::CompletionResponse::Array(items))))
            }),
            asked::SignatureHelpRequest::METHOD => {
                self.answer::<asked::SignatureHelpRequest>(request, |server, asked| {
                    let at = asked.text_document_position_params;
                    Some(Ok(signature::signature(server.doc(&at.text_document.uri)?, at.position)))
                })
            }
            asked::GotoDefinition::METHOD => self.answer::<asked::GotoDefinition>(request, Server::definition),
            asked::References::METHOD => self.answer::<asked::References>(request, |server, asked| {
                let at = asked.text_document_position;
                let doc = server.doc(&at.text_document.uri)?;
                let name = doc.name_at(doc.lines.byte(&doc.text, at.position))?;
                let declared = asked.context.include_declaration;
                Some(Ok(Some(rename::references(&server.docs, &server.shelf(), doc, name, declared))))
            }),
            asked::PrepareRenameRequest::METHOD => {
                self.answer::<asked::PrepareRenameRequest>(request, |server, asked| {
                    let doc = server.doc(&asked.text_document.uri)?;
                    let name = rename::renamed(doc, doc.lines.byte(&doc.text, asked.position));
                    Some(name.map(|name| Some(lsp::PrepareRenameResponse::Range(doc.range(name.span)))))
                })
            }
            asked::Rename::METHOD => self.answer::<asked::Rename>(request, |server, asked| {
                let at = asked.text_document_position;
                let doc = server.doc(&at.text_document.uri)?;
                let byte = doc.lines.byte(&doc.text, at.position);
                Some(rename::rename(&server.docs, &server.shelf(), doc, byte, &asked.new_name).map(Some))
            }),
            asked::DocumentSymbolRequest::METHOD => {
                self.answer::<asked::DocumentSymbolRequest>(request, |server, asked| {
                    let found = symbols::symbols(server.doc(&asked.text_document.uri)?);
                    Some(Ok(Some(lsp::DocumentSymbolResponse::Nested(found))))
                })
            }
            asked::FoldingRangeRequest::METHOD => self
                .answer::<asked::FoldingRangeRequest>(request, |server, asked| {
                    Some(Ok(Some(symbols::folding(server.doc(&asked.text_document.uri)?))))
                }),
            asked::SemanticTokensFullRequest::METHOD => {
                self.answer::<asked::SemanticTokensFullRequest>(request, |server, asked| {
                    let data = tokens::tokens(server.doc(&asked.text_document.uri)?);
                    Some(Ok(Some(lsp::SemanticTokensResult::Tokens(lsp::SemanticTokens { result_id: None, data }))))
                })
            }
            asked::Formatting::METHOD => self.answer::<asked::Formatting>(request, |server, asked| {
                Some(Ok(fix::formatting(server.doc(&asked.text_document.uri)?)))
            }),
            asked::CodeActionRequest::METHOD => self.answer::<asked::CodeActionRequest>(request, |server, asked| {
                Some(Ok(Some(fix::actions(server.doc(&asked.text_document.uri)?, asked.range))))
            }),
            asked::CodeLensRequest::METHOD => self.answer::<asked::CodeLensRequest>(request, |server, asked| {
                Some(Ok(Some(symbols::lenses(server.doc(&asked.text_document.uri)?))))
            }),
            asked::InlayHintRequest::METHOD => self.answer::<asked::InlayHintRequest>(request, |server, asked| {
                Some(Ok(Some(symbols::inlays(server.doc(&asked.text_document.uri)?, asked.range))))
            }),
            asked::ExecuteCommand::METHOD => self.execute(request),
            other => {
                let message = format!("there is no request `{other}`");
                vec![Response::new_err(request.id, code(ErrorCode::MethodNotFound), message).into()]
            }
        }
    }

    /// Answers a request; of a document that is not open, or where there is nothing to tell, with nothing.
    fn answer<R: asked::Request>(
        &self,
        request: Request,
        answer: impl FnOnce(&Server, R::Params) -> Option<Result<R::Result, String>>,
    ) -> Vec<Message>
    where
        R::Result: serde::Serialize,
    {
        let response = match serde_json::from_value::<R::Params>(request.params) {
            Err(error) => Response::new_err(request.id, code(ErrorCode::InvalidParams), error.to_string()),
            Ok(params) => match answer(self, params) {
                None => Response::new_ok(request.id, serde_json::Value::Null),
                Some(Ok(result)) => Response::new_ok(request.id, result),
                Some(Err(message)) => Response::new_err(request.id, code(ErrorCode::RequestFailed), message),
            },
        };
        vec![response.into()]
    }

    fn doc(&self, uri: &Uri) -> Option<&Document> {
        self.docs.get(uri.as_str())
    }

    fn hover(&self, asked: lsp::HoverParams) -> Option<Result<Option<lsp::Hover>, String>> {
        let at = asked.text_document_position_params;
        let doc = self.doc(&at.text_document.uri)?;
        let found = hover::hover(doc, doc.lines.byte(&doc.text, at.position));
        Some(Ok(found.map(|(span, value)| lsp::Hover {
            contents: lsp::HoverContents::Markup(lsp::MarkupContent { kind: lsp::MarkupKind::Markdown, value }),
            range: Some(doc.range(span)),
        })))
    }

    fn definition(
        &self,
        asked: lsp::GotoDefinitionParams,
    ) -> Option<Result<Option<lsp::GotoDefinitionResponse>, String>> {
        let at = asked.text_document_position_params;
        let doc = self.doc(&at.text_document.uri)?;
        let name = doc.name_at(doc.lines.byte(&doc.text, at.position))?;
        let mut found = Vec::new();
        for one in hover::declarations(doc, name) {
            // A built-in program has no place that an editor could open.
            let Some(uri) = self.address(one.entry.source.name()) else { continue };
            let text = one.entry.source.text();
            found.push(lsp::Location::new(uri, super::place::Lines::of(text).range(text, one.span)));
        }
        Some(Ok(Some(lsp::GotoDefinitionResponse::Array(found))))
    }

    /// The address of a file: as the editor wrote it where it is open.
    fn address(&self, name: &str) -> Option<Uri> {
        let open = self.docs.values().find(|doc| doc.name == name).map(|doc| doc.uri.clone());
        open.or_else(|| super::uri::address(name))
    }

    /// Runs the worked cases that a clause decides or is expected to, and shows what became of them.
    fn execute(&mut self, request: Request) -> Vec<Message> {
        let id = request.id.clone();
        let params = serde_json::from_value::<lsp::ExecuteCommandParams>(request.params).ok();
        let params = params.filter(|params| params.command == symbols::RUN);
        let words: Vec<String> = params
            .iter()
            .flat_map(|params| &params.arguments)
            .filter_map(|word| word.as_str().map(str::to_owned))
            .collect();
        let [uri, clause] = words.as_slice() else {
            let message = format!("write `{}` with the address of a document and a clause", symbols::RUN);
            return vec![Response::new_err(id, code(ErrorCode::InvalidParams), message).into()];
        };
        let text = self.docs.get(uri).map_or_else(String::new, |doc| ran(doc, clause));
        let shown = lsp::ShowMessageParams { typ: lsp::MessageType::INFO, message: text.clone() };
        let shown = Notification::new(told::ShowMessage::METHOD.to_owned(), shown);
        vec![Response::new_ok(id, text).into(), shown.into()]
    }
}

/// What became of the worked cases of a clause, a line each.
fn ran(doc: &Document, clause: &str) -> String {
    let Some(program) = doc.entry.as_ref().and_then(|entry| entry.program.as_deref()) else {
        return format!("{}: the file has errors, so that no case can be run", doc.name);
    };
    let results = cases::run(program);
    let concerns = |result: &&cases::CaseResult<'_>| {
        result.decided_by.iter().any(|by| by == clause) || result.case.by.as_deref() == Some(clause)
    };
    let lines: Vec<String> = results
        .iter()
        .filter(concerns)
        .map(|result| {
            let how = if result.faults.is_empty() { "holds".to_owned() } else { result.faults.join("; ") };
            format!("\"{}\": {how}", result.case.title)
        })
        .collect();
    if lines.is_empty() { format!("no worked case is decided by clause `{clause}`") } else { lines.join("\n") }
}

fn code(code: ErrorCode) -> i32 {
    match code {
        ErrorCode::InvalidParams => -32602,
        ErrorCode::MethodNotFound => -32601,
        _ => -32803,
    }
}

fn published(doc: &Document) -> Message {
    publish(doc.uri.clone(), messages::diagnostics(doc, fix::messages(doc)), Some(doc.version))
}

fn publish(uri: Uri, diagnostics: Vec<lsp::Diagnostic>, version: Option<i32>) -> Message {
    let params = lsp::PublishDiagnosticsParams { uri, diagnostics, version };
    Notification::new(told::PublishDiagnostics::METHOD.to_owned(), params).into()
}
