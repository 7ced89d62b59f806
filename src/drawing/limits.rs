//! How much a drawing may ask for. Each figure is checked before memory is taken for it, and each can be raised from the
//! command line, so that nobody's honest drawing is locked out.

/// What a drawing may ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub bytes: u64,
    /// Entities or elements, after blocks and repeated elements have taken their places.
    pub entities: u64,
    /// Blocks inside of blocks, elements inside of elements.
    pub depth: usize,
    /// Elements, attributes and texts of an SVG file.
    pub nodes: u32,
    /// Edges of all outlines, after curves have become arcs.
    pub edges: u64,
}

impl Limits {
    /// Typical drawings have less than 5 MiB; reading takes up to a dozen times the file in memory.
    pub const BYTES: u64 = 64 << 20;
    /// More than anybody cuts: at a second each this many take 11 days.
    pub const ENTITIES: u64 = 1_000_000;
    /// Drawing programs nest a handful; every level costs room on the stack.
    pub const DEPTH: usize = 256;
    /// An SVG of 64 MiB in fine lines stays below it.
    pub const NODES: u32 = 1_000_000;
    /// A sheet of 2 m flattened to 0.01 mm needs fewer than 20,000; a job of many such drawings stays below it.
    pub const EDGES: u64 = 5_000_000;
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            bytes: Self::BYTES,
            entities: Self::ENTITIES,
            depth: Self::DEPTH,
            nodes: Self::NODES,
            edges: Self::EDGES,
        }
    }
}

/// One of the limits, by the name that messages and the command line give it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Of the file.
    Bytes,
    /// Placed.
    Entities,
    /// Of nesting.
    Depth,
    /// Of an XML tree.
    Nodes,
    /// Of all outlines.
    Edges,
}

impl Limit {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Bytes,
        Self::Entities,
        Self::Depth,
        Self::Nodes,
        Self::Edges,
    ];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bytes => "bytes",
            Self::Entities => "entities",
            Self::Depth => "depth",
            Self::Nodes => "nodes",
            Self::Edges => "edges",
        }
    }

    /// What it can be raised to. Levels take room on the stack; what draws is numbered with 24 bits.
    pub const fn most(self) -> u64 {
        match self {
            Self::Bytes => 4 << 30,
            Self::Entities => 1 << 24,
            Self::Depth => 1024,
            Self::Nodes | Self::Edges => u32::MAX as u64,
        }
    }
}

impl Limits {
    /// The same with one limit at another figure.
    pub fn with(self, limit: Limit, count: u64) -> Self {
        match limit {
            Limit::Bytes => Self {
                bytes: count,
                ..self
            },
            Limit::Entities => Self {
                entities: count,
                ..self
            },
            Limit::Depth => Self {
                depth: usize::try_from(count).unwrap_or(usize::MAX),
                ..self
            },
            Limit::Nodes => Self {
                nodes: u32::try_from(count).unwrap_or(u32::MAX),
                ..self
            },
            Limit::Edges => Self {
                edges: count,
                ..self
            },
        }
    }
}
