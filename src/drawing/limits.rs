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
    /// Pairs of edges whose boxes touch, which are compared.
    pub pairs: u64,
    /// Bytes to which the entities of an SVG file's document type grow; `None` for 8 MiB, or a hundred times the file where
    /// that is less.
    pub text: Option<u64>,
    /// Comparisons of elements with rules of an SVG file's style sheets.
    pub matches: u64,
    /// Selectors of an SVG file's style sheets.
    pub rules: u64,
    /// Attributes of one element of an SVG file.
    pub attributes: u64,
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
    /// An outline takes two or three for each of its edges; this many take half a second.
    pub const PAIRS: u64 = 50_000_000;
    /// A second's worth; an export of a drawing program has some dozen rules.
    pub const MATCHES: u64 = 20_000_000;
    /// Exports have some hundred; this many take ten megabytes.
    pub const RULES: u64 = 100_000;
    /// The reader of XML compares each attribute of an element with all before: this many take a tenth of a second. A person
    /// or program writes a dozen.
    pub const ATTRIBUTES: u64 = 5_000;
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            bytes: Self::BYTES,
            entities: Self::ENTITIES,
            depth: Self::DEPTH,
            nodes: Self::NODES,
            edges: Self::EDGES,
            pairs: Self::PAIRS,
            text: None,
            matches: Self::MATCHES,
            rules: Self::RULES,
            attributes: Self::ATTRIBUTES,
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
    /// Of edges near one another.
    Pairs,
    /// Of entities of a document type.
    Text,
    /// Of elements and rules of style.
    Matches,
    /// Of style sheets.
    Rules,
    /// Of one element.
    Attributes,
}

impl Limit {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Bytes,
        Self::Entities,
        Self::Depth,
        Self::Nodes,
        Self::Edges,
        Self::Pairs,
        Self::Text,
        Self::Matches,
        Self::Rules,
        Self::Attributes,
    ];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bytes => "bytes",
            Self::Entities => "entities",
            Self::Depth => "depth",
            Self::Nodes => "nodes",
            Self::Edges => "edges",
            Self::Pairs => "pairs",
            Self::Text => "text",
            Self::Matches => "matches",
            Self::Rules => "rules",
            Self::Attributes => "attributes",
        }
    }

    /// What it can be raised to. Levels take room on the stack; what draws is numbered with 24 bits.
    pub const fn most(self) -> u64 {
        match self {
            Self::Bytes => 4 << 30,
            Self::Entities => 1 << 24,
            Self::Depth => 1024,
            Self::Nodes | Self::Edges => u32::MAX as u64,
            Self::Text => 4 << 30,
            Self::Pairs | Self::Matches => 1 << 40,
            Self::Rules | Self::Attributes => 1 << 20,
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
            Limit::Pairs => Self {
                pairs: count,
                ..self
            },
            Limit::Text => Self {
                text: Some(count),
                ..self
            },
            Limit::Matches => Self {
                matches: count,
                ..self
            },
            Limit::Rules => Self {
                rules: count,
                ..self
            },
            Limit::Attributes => Self {
                attributes: count,
                ..self
            },
        }
    }
}
