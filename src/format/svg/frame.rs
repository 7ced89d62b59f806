//! Lengths and maps: from user units to mm.

use svgtypes::{
    Align, AspectRatio, Length, LengthUnit, TransformListParser, TransformListToken, ViewBox,
};

use crate::geometry::affine::Affine;
use crate::geometry::point::Point;
use crate::geometry::transform::Rotation;
use crate::geometry::units::{self, MM_PER_INCH};

/// CSS pixels in an inch.
pub(super) const PX_PER_INCH: f64 = 96.0;

/// Millimetres in a CSS pixel.
pub const MM_PER_PX: f64 = MM_PER_INCH / PX_PER_INCH;

/// Width and height that percentages refer to, in user units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Viewport {
    pub(super) width: f64,
    pub(super) height: f64,
}

/// Along what a percentage is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Along {
    Width,
    Height,
    /// The diagonal, divided by √2.
    Both,
}

impl Viewport {
    fn along(self, along: Along) -> f64 {
        match along {
            Along::Width => self.width,
            Along::Height => self.height,
            Along::Both => {
                let (w, h) = (self.width, self.height);
                ((w * w + h * h) / 2.0).sqrt()
            }
        }
    }
}

/// A length in user units of an element, which are CSS pixels before any map.
///
/// # Errors
/// What is wrong, in words.
pub(super) fn length(text: &str, along: Along, viewport: Viewport) -> Result<f64, &'static str> {
    let text = text.trim();
    // Quarters of a millimetre, which the crate does not know.
    if let Some(number) = text.strip_suffix(['q', 'Q']) {
        let number: f64 = number.trim().parse().map_err(|_| "is no length")?;
        return finite(number / 40.0 / 2.54 * PX_PER_INCH);
    }
    let length: Length = text.parse().map_err(|_| "is no length")?;
    finite(match length.unit {
        LengthUnit::Percent => length.number / 100.0 * viewport.along(along),
        _ => return absolute(length),
    })
}

/// A length that needs no viewport, in CSS pixels.
fn absolute(length: Length) -> Result<f64, &'static str> {
    let px = match length.unit {
        LengthUnit::None | LengthUnit::Px => 1.0,
        LengthUnit::In => PX_PER_INCH,
        LengthUnit::Cm => PX_PER_INCH / 2.54,
        LengthUnit::Mm => PX_PER_INCH / MM_PER_INCH,
        LengthUnit::Pt => PX_PER_INCH / 72.0,
        LengthUnit::Pc => PX_PER_INCH / 6.0,
        LengthUnit::Em | LengthUnit::Ex => return Err("depends on a font, which a cutter has not"),
        LengthUnit::Percent => return Err("is a share of nothing that is known"),
    };
    finite(length.number * px)
}

fn finite(value: f64) -> Result<f64, &'static str> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err("is no finite number")
    }
}

/// The size of a page along one axis in mm, and whether it has an absolute unit; `None` for percentages and what is missing.
///
/// # Errors
/// What is wrong, in words; a page has a size above 0.
pub(super) fn page(text: Option<&str>) -> Result<Option<(f64, bool)>, &'static str> {
    match side(text)? {
        Some((mm, _)) if mm <= 0.0 => Err("is not above 0"),
        side => Ok(side),
    }
}

fn side(text: Option<&str>) -> Result<Option<(f64, bool)>, &'static str> {
    let Some(text) = text.map(str::trim).filter(|t| *t != "auto") else {
        return Ok(None);
    };
    // Written as they are, absolute units make exact millimetres.
    let mm = |number: &str, mm: f64| {
        let number: f64 = number.trim().parse().map_err(|_| "is no length")?;
        finite(number * mm).map(|n| Some((n, true)))
    };
    if let Some(number) = text.strip_suffix(['q', 'Q']) {
        return mm(number, 0.25);
    }
    let length: Length = text.parse().map_err(|_| "is no length")?;
    let scale = match length.unit {
        LengthUnit::Percent => return Ok(None),
        LengthUnit::Mm => 1.0,
        LengthUnit::Cm => 10.0,
        LengthUnit::In => MM_PER_INCH,
        LengthUnit::Pt => MM_PER_INCH / 72.0,
        LengthUnit::Pc => MM_PER_INCH / 6.0,
        _ => {
            return Ok(Some((
                absolute(length)? * MM_PER_PX,
                length.unit == LengthUnit::Px,
            )));
        }
    };
    finite(length.number * scale).map(|n| Some((n, true)))
}

/// The map of a view box onto a viewport with its corner in the origin.
pub(super) fn view(view: ViewBox, ratio: AspectRatio, width: f64, height: f64) -> Affine {
    let (mut x, mut y) = (width / view.w, height / view.h);
    if ratio.align != Align::None {
        let both = if ratio.slice { x.max(y) } else { x.min(y) };
        (x, y) = (both, both);
    }
    let (across, down) = match ratio.align {
        Align::None | Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMidYMid => (0.5, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
    };
    let rest = Point::new((width - view.w * x) * across, (height - view.h * y) * down);
    Affine::shifted(Point::new(-view.x, -view.y))
        .then(&Affine::scaled(x, y))
        .then(&Affine::shifted(rest))
}

/// The map of a `transform` attribute.
///
/// # Errors
/// What is wrong, in words.
pub(super) fn transform(text: &str) -> Result<Affine, &'static str> {
    let mut map = Affine::IDENTITY;
    for token in TransformListParser::from(text) {
        let token = token.map_err(|_| "is no list of transforms")?;
        let step = match token {
            TransformListToken::Matrix { a, b, c, d, e, f } => Affine {
                x: Point::new(a, b),
                y: Point::new(c, d),
                shift: Point::new(e, f),
            },
            TransformListToken::Translate { tx, ty } => Affine::shifted(Point::new(tx, ty)),
            TransformListToken::Scale { sx, sy } => Affine::scaled(sx, sy),
            TransformListToken::Rotate { angle } => {
                Affine::turned(Rotation::from_degrees(angle).apply(Point::new(1.0, 0.0)))
            }
            TransformListToken::SkewX { angle } => Affine {
                y: Point::new(crate::geometry::angle::tan(units::radians(angle)), 1.0),
                ..Affine::IDENTITY
            },
            TransformListToken::SkewY { angle } => Affine {
                x: Point::new(1.0, crate::geometry::angle::tan(units::radians(angle))),
                ..Affine::IDENTITY
            },
        };
        map = step.then(&map);
    }
    if map.is_finite() {
        Ok(map)
    } else {
        Err("is no finite map")
    }
}
