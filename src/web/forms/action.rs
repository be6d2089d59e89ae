//! What a button of a generated form asks for.

use crate::web::form::Form;

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Action {
    Save,
    /// Work it out with what is typed, keep nothing.
    Try,
    /// An item at the end of the list at this path: `need.loads`.
    Add(String),
    /// The item at this path goes: `need.loads.1`.
    Remove(String),
}

impl Action {
    /// What the pressed button's `action` says; a form sent without a button is to be saved.
    pub fn of(form: &Form) -> Self {
        let action = form.value("action");
        match action.split_once(':') {
            Some(("add", path)) => Self::Add(path.to_owned()),
            Some(("remove", path)) => Self::Remove(path.to_owned()),
            _ if action == "try" => Self::Try,
            _ => Self::Save,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_without_a_button_is_saved() {
        let of = |action| Action::of(&Form::filled([("action", action)]));
        assert_eq!(Action::of(&Form::default()), Action::Save);
        assert_eq!(of("try"), Action::Try);
        assert_eq!(of("add:need.loads"), Action::Add("need.loads".into()));
        assert_eq!(of("remove:need.loads.1"), Action::Remove("need.loads.1".into()));
    }
}
