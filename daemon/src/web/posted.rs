//! The only way to the fields of a posted form: token first.

use super::doors::Access;
use super::limits::BODY_TIMEOUT;
use super::site::same_secret;
use axum::Form;
use axum::extract::{FromRequest, Request};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

/// Fields of a form in the order they came.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// The first field of this name, without space around it; empty if there is none.
    pub fn get(&self, name: &str) -> &str {
        self.0.iter().find(|(field, _)| field == name).map_or("", |(_, value)| value.trim())
    }
}

/// A form that came in: with the right token, or from a page of another start of the program.
pub(super) enum Posted {
    /// From our own page of this start and this visitor.
    Genuine(Fields),
    /// Token missing or wrong. What was typed may be shown again, and nothing else.
    WrongToken(Fields),
}

impl<S: Send + Sync> FromRequest<S> for Posted {
    type Rejection = Response;

    async fn from_request(request: Request, state: &S) -> Result<Self, Response> {
        let token =
            request.extensions().get::<Access>().map(|access| access.token.clone()).unwrap_or_default();
        let form =
            tokio::time::timeout(BODY_TIMEOUT, Form::<Vec<(String, String)>>::from_request(request, state))
                .await;
        let Form(fields) = match form {
            Ok(form) => form.map_err(IntoResponse::into_response)?,
            Err(_) => return Err(StatusCode::REQUEST_TIMEOUT.into_response()),
        };
        let fields = Fields(fields);
        let genuine = !token.is_empty() && same_secret(fields.get("token"), &token);
        Ok(if genuine { Self::Genuine(fields) } else { Self::WrongToken(fields) })
    }
}
