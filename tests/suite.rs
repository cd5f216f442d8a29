//! The cross-crate suite: the whole chain from samples to results, called as its users call it.
//!
//! Numbers that come from outside carry their source beside them. A failing case prints what it measured; the rest
//! shows with `-- --nocapture`. Nothing here sleeps or asks a real clock.

#[cfg(test)]
mod cases {
    mod broad_tilt;
    mod damage;
    mod golden;
    mod handmade;
    mod kit;
    mod live;
    mod outside_numbers;
    mod properties;
    mod real_raises;
    mod simulated;
    mod tidy;
    mod validator;
}
