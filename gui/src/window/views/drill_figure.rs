//! Simple drawings of drills: a person of few lines, from the side. The data is a row of points for each drill.

use casebook::drill::Drill;
use eframe::egui::accesskit::Role;
use eframe::egui::{Pos2, Rect, Sense, Stroke, Ui, pos2, vec2};

use super::parts;
use crate::window::theme::Palette;
use crate::window::words::{Language, Practice};

/// A place in the drawing, hundredths of its width and of its height from above.
type Place = (f32, f32);

/// A drawing.
struct Sketch {
    /// The drill's file name.
    id: &'static str,
    /// Middle of the head.
    head: Place,
    /// Neck to hip.
    trunk: [Place; 2],
    /// Shoulder, elbow, hand.
    arm: [Place; 3],
    /// Hip, knee, ankle, toes: the leg that works.
    leg: [Place; 4],
    /// The other.
    other: [Place; 4],
    /// What is used: wall, chair, strap, stick.
    things: &'static [[Place; 2]],
}

const fn sketch(
    id: &'static str,
    head: Place,
    trunk: [Place; 2],
    arm: [Place; 3],
    leg: [Place; 4],
    other: [Place; 4],
    things: &'static [[Place; 2]],
) -> Sketch {
    Sketch {
        id,
        head,
        trunk,
        arm,
        leg,
        other,
        things,
    }
}

#[rustfmt::skip]
const SKETCHES: [Sketch; 12] = [
    sketch("calves-up-long-breath", (14., 84.), [(19., 86.), (48., 88.)], [(21., 87.), (30., 90.), (40., 90.)],
        [(48., 88.), (52., 52.), (76., 50.), (78., 42.)], [(48., 88.), (50., 53.), (74., 52.), (76., 44.)],
        &[[(58., 56.), (84., 56.)], [(62., 56.), (62., 92.)], [(82., 56.), (82., 92.)]]),
    sketch("wall-held-leg-other-down", (14., 84.), [(19., 86.), (52., 88.)], [(21., 87.), (32., 90.), (42., 90.)],
        [(52., 88.), (68., 80.), (84., 72.), (84., 64.)], [(52., 88.), (62., 60.), (72., 30.), (68., 24.)],
        &[[(73., 8.), (73., 92.)]]),
    sketch("hands-behind-thigh-unfold", (16., 84.), [(21., 86.), (54., 88.)], [(23., 86.), (40., 74.), (55., 62.)],
        [(54., 88.), (56., 54.), (68., 26.), (74., 22.)], [(54., 88.), (72., 66.), (80., 88.), (87., 88.)], &[]),
    sketch("heel-dug-bridge-hold", (14., 86.), [(19., 88.), (50., 66.)], [(21., 88.), (30., 91.), (42., 91.)],
        [(50., 66.), (70., 52.), (80., 90.), (86., 82.)], [(50., 66.), (68., 53.), (78., 90.), (84., 82.)], &[]),
    sketch("hips-to-wall-hinge", (70., 36.), [(64., 40.), (36., 50.)], [(60., 44.), (54., 56.), (44., 52.)],
        [(36., 50.), (48., 70.), (46., 91.), (56., 91.)], [(36., 50.), (47., 70.), (44., 91.), (54., 91.)],
        &[[(30., 8.), (30., 92.)]]),
    sketch("strap-held-ankle-pump", (16., 84.), [(21., 86.), (54., 88.)], [(23., 86.), (36., 72.), (48., 66.)],
        [(54., 88.), (64., 56.), (74., 26.), (68., 20.)], [(54., 88.), (74., 89.), (92., 90.), (94., 82.)],
        &[[(48., 66.), (69., 21.)]]),
    sketch("one-leg-bridge-hold", (14., 86.), [(19., 88.), (50., 66.)], [(21., 88.), (30., 91.), (42., 91.)],
        [(50., 66.), (70., 54.), (80., 90.), (88., 90.)], [(50., 66.), (42., 40.), (58., 46.), (64., 42.)], &[]),
    sketch("sliding-heel-lower", (14., 86.), [(19., 88.), (46., 72.)], [(21., 88.), (30., 91.), (40., 91.)],
        [(46., 72.), (68., 70.), (86., 90.), (90., 80.)], [(46., 72.), (66., 71.), (84., 90.), (88., 80.)],
        &[[(76., 92.), (94., 92.)]]),
    sketch("staggered-hinge-with-stick", (72., 34.), [(66., 38.), (40., 48.)], [(62., 42.), (56., 30.), (62., 26.)],
        [(40., 48.), (54., 68.), (54., 91.), (64., 91.)], [(40., 48.), (40., 70.), (30., 88.), (36., 91.)],
        &[[(80., 24.), (34., 43.)]]),
    sketch("face-down-cushion-reach", (14., 84.), [(20., 87.), (52., 86.)], [(22., 88.), (10., 90.), (18., 90.)],
        [(52., 86.), (72., 82.), (92., 78.), (97., 82.)], [(52., 86.), (72., 89.), (92., 90.), (97., 91.)],
        &[[(38., 92.), (56., 92.)]]),
    sketch("band-pressed-leg-lower", (22., 84.), [(27., 86.), (56., 88.)], [(30., 85.), (42., 78.), (54., 80.)],
        [(56., 88.), (76., 76.), (95., 66.), (96., 58.)], [(56., 88.), (64., 56.), (70., 26.), (66., 20.)],
        &[[(6., 60.), (54., 80.)]]),
    sketch("one-leg-hinge-to-block", (72., 42.), [(66., 45.), (42., 46.)], [(63., 46.), (66., 62.), (68., 76.)],
        [(42., 46.), (50., 68.), (48., 91.), (58., 91.)], [(42., 46.), (22., 48.), (6., 50.), (4., 58.)],
        &[[(64., 78.), (76., 78.)], [(64., 78.), (64., 92.)], [(76., 78.), (76., 92.)]]),
];

/// The drawing of a drill; nothing for a practitioner's own.
pub(super) fn drill_figure(ui: &mut Ui, language: Language, drill: &Drill) {
    let Some(sketch) = SKETCHES.iter().find(|sketch| sketch.id == drill.id) else {
        return;
    };
    let width = ui.available_width().min(420.0);
    let (rect, response) = ui.allocate_exact_size(vec2(width, 0.48 * width), Sense::hover());
    draw(ui, rect, sketch);
    let name = language.fill(Practice::Picture, &[&drill.name]);
    parts::named(response, Role::Image, &name, true);
}

fn draw(ui: &Ui, rect: Rect, sketch: &Sketch) {
    let colours = Palette::of(ui);
    let painter = ui.painter();
    let at = |(x, y): Place| -> Pos2 {
        pos2(
            rect.left() + rect.width() * x / 100.0,
            rect.top() + rect.height() * y / 100.0,
        )
    };
    let limb = |places: &[Place], stroke: Stroke| {
        for pair in places.windows(2) {
            painter.line_segment([at(pair[0]), at(pair[1])], stroke);
        }
        for place in places {
            painter.circle_filled(at(*place), stroke.width / 2.0, stroke.color); // round joints
        }
    };
    limb(&[(2.0, 95.0), (98.0, 95.0)], Stroke::new(2.0, colours.body));
    for thing in sketch.things {
        limb(thing, Stroke::new(4.0, colours.line));
    }
    let body = Stroke::new(7.0, colours.body);
    limb(&sketch.other, Stroke::new(6.0, colours.body));
    limb(&sketch.trunk, body);
    limb(&sketch.arm, Stroke::new(4.0, colours.body));
    limb(&sketch.leg, Stroke::new(7.0, colours.leg));
    painter.circle_filled(at(sketch.head), 0.035 * rect.width(), colours.body);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_drill_that_comes_with_the_program_has_a_drawing() {
        for drill in casebook::drill::shipped() {
            let found = SKETCHES.iter().find(|sketch| sketch.id == drill.id);
            let sketch = found.unwrap_or_else(|| panic!("{} has no drawing", drill.id));
            let hips = [sketch.trunk[1], sketch.leg[0], sketch.other[0]];
            assert!(hips.iter().all(|hip| *hip == hips[0]), "{}", drill.id);
        }
    }
}
