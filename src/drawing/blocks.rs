//! Blocks placed: every entity that a DXF file draws, where it comes to lie.
//!
//! In: a document. Out: its entities and, in the place of each INSERT, those of its block, once for each row and column,
//! with the map from their frame to that of the drawing.
//!
//! Steps: 1. blocks are found by name, without case; 2. what an INSERT will make is counted, block by block, before anything
//! is made: a file of a kilobyte can ask for a billion entities, or for a block inside of itself; 3. entities are placed.
//!
//! An entity on layer 0 of a block is on the layer of the INSERT. Where an INSERT is invisible, lies on a paper layout or on
//! a frozen layer, so is all that it places. On a layer that is switched off its entities of other layers are seen all the
//! same: that is the difference between the two (common practice of drawing programs, no source).

use std::collections::BTreeMap;

use crate::drawing::error::DrawingError;
use crate::drawing::faults::Faults;
use crate::drawing::limits::Limits;
use crate::format::dxf::{Document, Entity, EntityName, Insert, Shape};
use crate::format::shown::shown;
use crate::geometry::affine::Affine;
use crate::geometry::point::Point;
use crate::geometry::transform::Rotation;

/// The layer whose entities take that of what places them.
const LAYER_OF_INSERT: &str = "0";

/// An entity where it lies.
#[derive(Clone, Debug)]
pub(super) struct Placed<'a> {
    /// What is drawn.
    pub(super) entity: &'a Entity,
    /// Its layer, or that of the INSERT that decides.
    pub(super) layer: &'a str,
    /// From its frame to that of the drawing.
    pub(super) map: Affine,
    /// Whether it, or what places it, is invisible.
    pub(super) invisible: bool,
    /// Whether what places it lies on a frozen layer.
    pub(super) hidden: bool,
}

impl Placed<'_> {
    /// What names it in a message: its layer is the one that decides.
    pub(super) fn name(&self) -> EntityName {
        EntityName {
            layer: self.layer.into(),
            ..self.entity.name.clone()
        }
    }
}

/// Places all entities of a document. `is_frozen` tells whether nothing is shown of a block on a layer.
///
/// # Errors
/// `MissingBlock` and `Cycle`, all of them; `TooDeep`, `TooMany`.
pub(super) fn placed<'a>(
    file: &str,
    document: &'a Document,
    limits: &Limits,
    is_frozen: &dyn Fn(&str) -> bool,
) -> Result<Vec<Placed<'a>>, Vec<DrawingError>> {
    let mut blocks = BTreeMap::new();
    for (i, block) in document.blocks.iter().enumerate() {
        // The first of a name counts, as for those who search from the beginning.
        blocks.entry(block.name.to_uppercase()).or_insert(i);
    }
    let mut work = Work {
        file,
        document,
        limits,
        is_frozen,
        blocks,
        counts: vec![None; document.blocks.len()],
        faults: Faults::new(file),
        out: Vec::new(),
    };
    let made = work.count(&document.entities, &mut Vec::new());
    let too_many = |count| DrawingError::TooMany {
        file: file.to_owned(),
        what: "entities",
        count,
        limit: limits.entities(),
    };
    let count = match made {
        Ok(made) => made.entities,
        Err(error) => {
            work.faults.push(error);
            0
        }
    };
    if count > limits.entities() {
        work.faults.push(too_many(count));
    }
    std::mem::replace(&mut work.faults, Faults::new(file)).into_result()?;
    work.out.reserve(count as usize);
    let holder = Holder {
        layer: None,
        map: Affine::IDENTITY,
        invisible: false,
        hidden: false,
    };
    work.place(&document.entities, &holder);
    Ok(work.out)
}

struct Work<'a, 'b> {
    file: &'b str,
    document: &'a Document,
    limits: &'b Limits,
    is_frozen: &'b dyn Fn(&str) -> bool,
    blocks: BTreeMap<String, usize>,
    /// What a block makes, as far as it is known.
    counts: Vec<Option<Made>>,
    /// Blocks that are missing or inside of themselves.
    faults: Faults<'b>,
    out: Vec<Placed<'a>>,
}

/// What entities make.
#[derive(Clone, Copy)]
struct Made {
    entities: u64,
    /// Levels of blocks inside.
    levels: usize,
}

/// What places entities.
struct Holder<'a> {
    layer: Option<&'a str>,
    map: Affine,
    invisible: bool,
    hidden: bool,
}

impl<'a> Work<'a, '_> {
    fn find(&self, insert: &Insert) -> Option<usize> {
        self.blocks.get(&insert.block.to_uppercase()).copied()
    }

    /// The block that an INSERT places; one that is missing or open already is told and places nothing.
    fn found(&mut self, insert: &Insert, name: &EntityName, open: &[usize]) -> Option<usize> {
        let file = self.file.to_owned();
        let Some(block) = self.find(insert) else {
            self.faults.push(DrawingError::MissingBlock {
                file,
                block: insert.block.to_string(),
                entity: Box::new(name.clone()),
            });
            return None;
        };
        let Some(from) = open.iter().position(|b| *b == block) else {
            return Some(block);
        };
        let members = open[from..].iter().chain(std::iter::once(&block));
        let name = |b: &usize| shown(&self.document.blocks[*b].name);
        let names = members.map(name).collect();
        self.faults.push(DrawingError::Cycle { file, names });
        None
    }

    fn too_deep(&self, entity: &Entity) -> DrawingError {
        DrawingError::TooDeep {
            file: self.file.to_owned(),
            limit: self.limits.depth,
            entity: entity.name.clone(),
        }
    }

    /// How many entities these make; `open` are the blocks that are being counted. What is missing or inside of itself is
    /// added to the faults.
    ///
    /// # Errors
    /// `TooDeep`.
    fn count(
        &mut self,
        entities: &'a [Entity],
        open: &mut Vec<usize>,
    ) -> Result<Made, DrawingError> {
        let mut sum = 0_u64;
        let mut levels = 0;
        for entity in entities {
            let Some(insert) = placing(entity) else {
                sum = sum.saturating_add(1);
                continue;
            };
            let Some(block) = self.found(insert, &entity.name, open) else {
                continue;
            };
            if open.len() >= self.limits.depth {
                return Err(self.too_deep(entity));
            }
            let each = match self.counts[block] {
                Some(known) => known,
                None => {
                    open.push(block);
                    let each = self.count(&self.document.blocks[block].entities, open)?;
                    open.pop();
                    self.counts[block] = Some(each);
                    each
                }
            };
            // An INSERT of an empty block draws nothing, but each of its places takes time.
            let [columns, rows] = insert.count.map(|n| n as u64);
            if open.len() + 1 + each.levels > self.limits.depth {
                return Err(self.too_deep(entity));
            }
            levels = levels.max(1 + each.levels);
            let made = each
                .entities
                .max(1)
                .saturating_mul(columns)
                .saturating_mul(rows);
            sum = sum.saturating_add(made);
        }
        Ok(Made {
            entities: sum,
            levels,
        })
    }

    fn place(&mut self, entities: &'a [Entity], holder: &Holder<'a>) {
        for entity in entities {
            let own = &*entity.name.layer;
            let layer = match holder.layer {
                Some(layer) if own == LAYER_OF_INSERT => layer,
                _ => own,
            };
            let invisible = holder.invisible || entity.invisible || entity.on_paper;
            let Some(insert) = placing(entity) else {
                self.out.push(Placed {
                    entity,
                    layer,
                    map: holder.map,
                    invisible,
                    hidden: holder.hidden,
                });
                continue;
            };
            // All that are missing were told when they were counted.
            let Some(block) = self.find(insert) else {
                continue;
            };
            let block = &self.document.blocks[block];
            for at in places(insert) {
                let inner = Holder {
                    layer: Some(layer),
                    map: map(insert, block.base, at).then(&holder.map),
                    invisible,
                    hidden: holder.hidden || (self.is_frozen)(layer),
                };
                self.place(&block.entities, &inner);
            }
        }
    }
}

/// The INSERT that an entity is, unless it scales its block to nothing: that is told of it, and its block is left alone.
fn placing(entity: &Entity) -> Option<&Insert> {
    match &entity.shape {
        Some(Shape::Insert(insert)) if !insert.scale.contains(&0.0) => Some(insert),
        _ => None,
    }
}

/// Where the base points of an INSERT's rows and columns lie.
fn places(insert: &Insert) -> impl Iterator<Item = Point> + '_ {
    let turn = Rotation::from_degrees(insert.deg);
    let [columns, rows] = insert.count;
    let [dx, dy] = insert.spacing;
    (0..rows).flat_map(move |row| {
        (0..columns).map(move |column| {
            insert.at + turn.apply(Point::new(dx * column as f64, dy * row as f64))
        })
    })
}

/// From a block's frame to that of what holds the INSERT.
fn map(insert: &Insert, base: Point, at: Point) -> Affine {
    let turn = Rotation::from_degrees(insert.deg).apply(Point::new(1.0, 0.0));
    Affine::shifted(-base)
        .then(&Affine::scaled(insert.scale[0], insert.scale[1]))
        .then(&Affine::turned(turn))
        .then(&Affine::shifted(at))
        .then(&Affine::scaled(
            if insert.mirrored { -1.0 } else { 1.0 },
            1.0,
        ))
}
