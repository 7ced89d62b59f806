//! What the report says about safety. It never stands in for the machine's manual, the safety data sheet or local rules.

use crate::model::cutter::CutterKind;
use crate::model::seam::Bond;

/// The first line of every report.
pub(crate) const FIRST: &str = "Before anything in this report come the manual of your machine, the safety data sheet of your material and the rules where you work. What needs a licence or training is for people who have it.";
/// Said above each sheet where a router cuts without tabs.
pub(crate) const NOTHING_HOLDS: &str = "Nothing holds the pieces of this sheet once they are cut free: the contours have no tabs. Hold every piece by vacuum, screws or tape before its last pass, or leave a skin and cut it by hand.";

/// Cautions that apply: a heading and a text each.
pub(crate) fn of(
    kind: CutterKind,
    bond: Bond,
    printing: bool,
) -> Vec<(&'static str, &'static str)> {
    let mut out = Vec::new();
    match kind {
        CutterKind::Laser => {
            out.push(("Laser, fire and fume", "Stay beside the machine while it cuts, with a suitable extinguisher in reach. Start the extraction before the first cut and leave it on after the last; acrylic gives off methyl methacrylate, board smoke and formaldehyde. Keep the grid free of scraps. Cut nothing that you cannot name."));
            out.push(("Laser, eyes", "With its covers closed a machine is of class 1 to IEC 60825-1; opened, or with an open pass-through, it is of class 4: beam and reflections hurt eyes and skin and set fire. Leave interlocks alone."));
        }
        CutterKind::Router => out.push((
            "Router",
            "Clamp the sheet and look that no clamp stands in the path. Small parts fly. Reach in only once the spindle stands still. Wear eye protection, and hearing protection where it is loud.",
        )),
    }
    out.push(("Dust", "Extract it where it is made. Wood dust causes cancer (IARC, group 1); fine dust can explode."));
    match bond {
        Bond::Weld => out.push(("Solvent cement", "Fresh air, the gloves that the data sheet names, eye protection, no flame. Many cements burn; dichloromethane vapour is heavier than air and is restricted by law in many places: look up the rule before you choose. Do not run solvent over edges that a laser cut and nobody annealed: they craze.")),
        Bond::Glue => out.push(("Glue", "Follow the safety data sheet of the adhesive: air, gloves, eyes. Solvents in contact adhesive attack styrene.")),
        Bond::Dry | Bond::Film => {}
    }
    out.push(("Handling", "Edges and offcuts are sharp: break them. Two people carry a large sheet. Strip protective film only on the face that is bonded, and take it off before the fixture goes under a head."));
    if printing {
        out.push(("Printing", "Lower the head only after a test move above the highest point. Stray light cures ink in the nozzles, so cover shiny faces. Ultraviolet lamps hurt eyes and skin, and uncured ink makes skin allergic: wear gloves."));
    }
    out
}

/// How layers are joined, in words.
pub(crate) fn bond_word(bond: Bond) -> &'static str {
    match bond {
        Bond::Dry => "dry: held by the screws alone",
        Bond::Film => "double-sided film",
        Bond::Weld => "solvent weld",
        Bond::Glue => "glue",
    }
}

/// What to mind when layers are joined.
pub(crate) fn bond_note(bond: Bond) -> &'static str {
    match bond {
        Bond::Dry => {
            "The layers are laid dry: the screws clamp them, and the stack is as stiff as its layers one by one."
        }
        Bond::Film => {
            "Film adds its own thickness to every joint, and it is soft: seams of neighbouring layers want a longer lap than a weld does. Seam faces stay dry."
        }
        Bond::Weld => "Solvent wants touching faces and light pressure. Seam faces stay dry.",
        Bond::Glue => {
            "Spread glue thinly and keep it off the seam faces, which stay dry; release film keeps what squeezes out off the plates."
        }
    }
}
