//! What recognisers do to words and numbers, undone in the tokens, where there is one way that fits. Each mend says how it
//! was made, and so how sure it is; a number that could be right as it stands is left alone.

mod edit;
mod joined;
mod words;
