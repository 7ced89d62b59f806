//! How much a drawing may ask for. Each figure is checked before memory is taken for it, and each can be raised from the
//! command line, so that nobody's honest drawing is locked out. Two are fixed, and have no option: coordinates
//! (`tolerance::MAX_COORDINATE`), beyond which nothing of geometry is proved, and the levels of an XML text's entities, which
//! the XML reader limits itself.

/// What a drawing may ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file.
    pub bytes: u64,
    /// Entities or elements, after blocks and repeated elements have taken their places; `None` for [`Self::ENTITIES`], or one
    /// for each [`Self::BYTES_PER_ENTITY`] of the file where that is more.
    pub entities: Option<u64>,
    /// Bytes that the file has, once that is known.
    pub of_bytes: u64,
    /// Blocks inside of blocks, elements inside of elements.
    pub depth: usize,
    /// Elements, attributes and texts of an SVG file.
    pub nodes: u32,
    /// Edges of all outlines, after curves have become arcs; `None` for [`Self::EDGES`], or one for each
    /// [`Self::BYTES_PER_EDGE`] of the file where that is more.
    pub edges: Option<u64>,
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
    /// Comparisons of the XML name spaces of an SVG file.
    pub name_spaces: u64,
}

impl Limits {
    /// Typical drawings have less than 5 MiB; reading takes up to a dozen times the file in memory.
    pub const BYTES: u64 = 64 << 20;
    /// More than anybody cuts: at a second each this many take three days; in memory they take 200 MB.
    pub const ENTITIES: u64 = 250_000;
    /// What is written out is admitted: the shortest line of a DXF takes about as much.
    pub const BYTES_PER_ENTITY: u64 = 64;
    /// Drawing programs nest a handful; every level costs room on the stack.
    pub const DEPTH: usize = 256;
    /// An SVG of 64 MiB in fine lines stays below it.
    pub const NODES: u32 = 1_000_000;
    /// A sheet of 2 m flattened to 0.01 mm needs fewer than 20,000; fifty of them stay below it.
    pub const EDGES: u64 = 1_000_000;
    /// What is written out is admitted: a vertex of a polyline takes as much.
    pub const BYTES_PER_EDGE: u64 = 16;
    /// An outline takes two or three for each of its edges; this many take half a second.
    pub const PAIRS: u64 = 50_000_000;
    /// A second's worth; an export of a drawing program has some dozen rules.
    pub const MATCHES: u64 = 20_000_000;
    /// Exports have some hundred; this many take ten megabytes.
    pub const RULES: u64 = 100_000;
    /// The reader of XML compares each attribute of an element with all before: this many take a tenth of a second. A person
    /// or program writes a dozen.
    pub const ATTRIBUTES: u64 = 5_000;
    /// The reader of XML looks through the name spaces in scope for each name: this many take half a second. An export of 64
    /// MiB with a dozen name spaces takes a tenth of it.
    pub const NAME_SPACES: u64 = 200_000_000;
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            bytes: Self::BYTES,
            entities: None,
            of_bytes: 0,
            depth: Self::DEPTH,
            nodes: Self::NODES,
            edges: None,
            pairs: Self::PAIRS,
            text: None,
            matches: Self::MATCHES,
            rules: Self::RULES,
            attributes: Self::ATTRIBUTES,
            name_spaces: Self::NAME_SPACES,
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
    /// Of XML name spaces and names.
    NameSpaces,
}

impl Limit {
    /// All of them.
    pub const ALL: [Self; 11] = [
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
        Self::NameSpaces,
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
            Self::NameSpaces => "name-spaces",
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
            Self::Pairs | Self::Matches | Self::NameSpaces => 1 << 40,
            Self::Rules | Self::Attributes => 1 << 20,
        }
    }
}

impl Limits {
    /// How many entities a file may draw.
    pub fn entities(&self) -> u64 {
        let written = self.of_bytes / Self::BYTES_PER_ENTITY;
        self.entities.unwrap_or(written.max(Self::ENTITIES))
    }

    /// How many edges its outlines may have.
    pub fn edges(&self) -> u64 {
        let written = self.of_bytes / Self::BYTES_PER_EDGE;
        self.edges.unwrap_or(written.max(Self::EDGES))
    }

    /// The same with one limit at another figure.
    pub fn with(self, limit: Limit, count: u64) -> Self {
        match limit {
            Limit::Bytes => Self {
                bytes: count,
                ..self
            },
            Limit::Entities => Self {
                entities: Some(count),
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
                edges: Some(count),
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
            Limit::NameSpaces => Self {
                name_spaces: count,
                ..self
            },
        }
    }
}
