//! The radio rig: the Bluetooth source against a Bluetooth service that is played here, over a real socket, through the
//! real client library. No adapter, no bus daemon and no special rights are needed. Linux only.
//!
//! The played boards are never perfect: notifications come in bursts, the rate is 1 % off nominal and the boards' clocks
//! a few hundred ppm, counter and clock wrap early on, and in the longest run one board begins anew and one loses its
//! link. Each scenario runs its client in a process of its own, because the client library reads the bus address once.
//!
//! `LEGRAISE_RIG_S` sets the length of the longest run, 10 s if unset; 60 is the one that is quoted.

#[cfg(target_os = "linux")]
#[cfg(test)]
mod rigs {
    mod answers;
    mod bluez;
    mod child;
    mod flow;
    mod judge;
    mod program;
}
