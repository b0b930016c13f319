//! How a handler ends: a page, a way back, or the page of problems.

use crate::page::problems;
use crate::state::report;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use desk::problem::{Problem, Report};
use store::StoreError;

/// Why a request got no answer, with its status.
pub struct Refused {
    pub status: StatusCode,
    pub report: Report,
}

/// What every handler returns.
pub type Answer = Result<Response, Refused>;

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        problems(self.status, &self.report)
    }
}

impl From<Report> for Refused {
    fn from(report: Report) -> Refused {
        let status = if report.internal { StatusCode::INTERNAL_SERVER_ERROR } else { StatusCode::UNPROCESSABLE_ENTITY };
        Refused { status, report }
    }
}

impl From<Problem> for Refused {
    fn from(p: Problem) -> Refused {
        Report::from(p).into()
    }
}

impl From<StoreError> for Refused {
    fn from(e: StoreError) -> Refused {
        let status = match &e {
            StoreError::Conflict { .. } => StatusCode::CONFLICT,
            StoreError::Missing { .. } => StatusCode::NOT_FOUND,
            StoreError::ReadOnly(_) => StatusCode::FORBIDDEN,
            StoreError::NoFurther(_) | StoreError::Invalid(_) => StatusCode::UNPROCESSABLE_ENTITY,
            _ => StatusCode::INTERNAL_SERVER_ERROR,
        };
        Refused { status, report: report(&e) }
    }
}

/// Back to a page after a change.
pub fn back(to: &str) -> Answer {
    Ok(Redirect::to(to).into_response())
}

/// Work that takes longer than a few milliseconds, off the threads that serve.
pub async fn blocking(work: impl FnOnce() -> Answer + Send + 'static) -> Response {
    match tokio::task::spawn_blocking(work).await {
        Ok(answer) => answer.into_response(),
        Err(_) => Refused::from(Report::internal("the work on this page broke off")).into_response(),
    }
}

/// Fields of a form in their order.
#[derive(Clone, Debug, Default)]
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// First value of a field; empty where it is missing.
    pub fn get(&self, key: &str) -> &str {
        self.0.iter().find(|(k, _)| k == key).map_or("", |(_, v)| v.as_str())
    }
    /// All values of a field.
    pub fn all<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |(k, _)| k == key).map(|(_, v)| v.as_str())
    }
    /// A whole number; a problem that names the field otherwise.
    pub fn number<T: std::str::FromStr>(&self, key: &str) -> Result<T, Refused> {
        self.get(key).trim().parse().map_err(|_| {
            let what = format!("\"{}\" is no number", self.get(key));
            Problem::error(key, what).expected("a whole number").into()
        })
    }
}
