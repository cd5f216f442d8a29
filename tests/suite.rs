//! The cross-crate suite: the whole chain from samples to results, called as its users call it.
//!
//! Numbers that come from outside carry their source beside them. A failing case prints what it measured; the rest
//! shows with `-- --nocapture`. Only `killed` waits for real time; it, `app` and `book` call the program:
//! it is built beside this suite by `cargo build`.

#[cfg(test)]
mod cases {
    mod app;
    mod book;
    mod both_sides;
    mod broad_tilt;
    mod damage;
    mod golden;
    mod handmade;
    mod killed;
    mod kit;
    mod live;
    mod live_replay;
    mod outside_numbers;
    mod power_cut;
    mod properties;
    mod real_raises;
    mod records;
    mod rolled;
    mod sharing;
    mod simulated;
    mod tidy;
    mod validator;
}
