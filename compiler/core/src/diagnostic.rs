//! What is wrong with an input, as data. Nothing here prints: the program renders it.

use crate::source::Span;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; the draft stands.
    Warning,
    /// No draft is made.
    Error,
}

/// Declares the codes once: the variant, its doc comment and its name in messages.
macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $variant:ident => $name:literal,)+) => {
        /// The kind of a diagnostic: what went wrong, as a name that stays the same when messages
        /// are reworded.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $($(#[doc = $doc])+ $variant,)+
        }

        impl Code {
            /// Every code.
            pub const ALL: &'static [Code] = &[$(Code::$variant,)+];

            /// The name shown with a message, such as `unknown-name`.
            pub fn as_str(self) -> &'static str {
                match self {
                    $(Code::$variant => $name,)+
                }
            }
        }
    };
}

codes! {
    // Files and the command line
    /// There is no file of that name. Check the name and the folder it is in.
    NoFile => "no-file",
    /// The file is larger than any shape file. Give the shape file itself.
    FileTooLarge => "file-too-large",
    /// The file is not plain text. Save it as plain text (UTF-8).
    NotText => "not-text",
    /// The system does not let the file be read, or it is a folder. Give a file that may be opened.
    CannotRead => "cannot-read",
    /// Files use each other in a circle. Move what both need into a third file.
    UseCycle => "use-cycle",
    /// The file declares no style and no shape. Declare a style.
    NothingToDraft => "nothing-to-draft",
    /// The file has no style of that name. Ask for one of those it has.
    UnknownStyle => "unknown-style",
    /// The style has no size of that name. Ask for one of those it has.
    UnknownSize => "unknown-size",
    /// One run comes to more drafts than can be held at once. Draft some of them at a time.
    TooManyDrafts => "too-many-drafts",
    /// A nested picture is asked for of a style that is drafted in one size, or in more than can be told
    /// apart. Ask for all sizes, or for fewer.
    NotNested => "not-nested",
    /// Two drafts would be written to files of one name. Rename one, or draft them one at a time.
    SameFile => "same-file",

    // Reading the text
    /// A statement is not written as the language has it. The message says what was expected there.
    Syntax => "syntax",
    /// A statement begins with a word that means nothing in its place. Use one of the words named.
    UnknownStatement => "unknown-statement",
    /// A statement that takes no `{ … }` has one. Take the braces out.
    StrayBlock => "stray-block",
    /// A `}` closes nothing. Take it out, or put the `{` that is missing above it.
    StrayBrace => "stray-brace",
    /// A `{` is never closed. Put a `}` where its block ends.
    OpenBrace => "open-brace",
    /// A text is not closed on its line. Close it with a quote.
    OpenQuote => "open-quote",
    /// A `{` inside a text is never closed. Write the value as `{name}`.
    OpenValue => "open-value",
    /// Brackets, phrases or blocks stand too deep in each other. Give parts names of their own.
    TooDeep => "too-deep",
    /// An expression, name or text is too long. Give parts of it names of their own, or shorten it.
    TooLong => "too-long",
    /// More of something than any work needs: statements in a block, styles in a file, files used.
    /// Split it up.
    TooMany => "too-many",
    /// A number is too large to work with. Write a smaller one.
    NumberTooLarge => "number-too-large",
    /// A unit is spelled in another way than the language has it. Write `in`, `cm`, `mm`, `m`, `deg`
    /// or `%`.
    UnknownUnit => "unknown-unit",
    /// A fraction has a zero below its stroke. Write another number there.
    ZeroFraction => "zero-fraction",

    // Names and kinds
    /// A style is built from a shape or style that is not declared. Check the name.
    UnknownShape => "unknown-shape",
    /// A role is set to a cloth that is not declared. Check the name.
    UnknownCloth => "unknown-cloth",
    /// Nothing of that name is declared. Check the spelling.
    UnknownName => "unknown-name",
    /// A curve, outline or piece has no part of that name. Use one of the parts named.
    UnknownPart => "unknown-part",
    /// There is no function of that name. Check the spelling.
    UnknownFunction => "unknown-function",
    /// A style sets a parameter that its shape does not have. Check the spelling.
    UnknownParameter => "unknown-parameter",
    /// A style sets a value that is worked out from others. Set what it is worked out from.
    NotAParameter => "not-a-parameter",
    /// One name is declared twice. Rename one of the two.
    DeclaredTwice => "declared-twice",
    /// A name already means something in the language. Choose another.
    BuiltInName => "built-in-name",
    /// Declarations are made from each other in a circle. Say one of them without the others.
    Cycle => "cycle",
    /// A style is built from a style, built from a style, and so on too often. Build it from one
    /// nearer to the shape.
    LongChain => "long-chain",
    /// A value is of another kind than its place needs, such as a number without a unit for a
    /// length. Give one of the kind named.
    WrongKind => "wrong-kind",
    /// A function is given more or fewer values than it takes. Give as many as named.
    WrongCount => "wrong-count",

    // Declarations
    /// A profile or path does not begin with its one `start`. Put it first, once.
    StartStep => "start-step",
    /// A profile or path draws nothing. Add a `straight` or a `curve`.
    EmptyPath => "empty-path",
    /// An outline has fewer than two edges. Write them in order round the outline.
    FewEdges => "few-edges",
    /// A piece has no outline. Give it one, or cut it from a pattern.
    NoOutline => "no-outline",
    /// A piece has two outlines. Keep one.
    TwoOutlines => "two-outlines",
    /// A parameter, role or property of a cloth or table is set twice in one place. Keep one of the two.
    SetTwice => "set-twice",
    /// A parameter is both set and left open by `find`. Keep one of the two.
    SetAndOpen => "set-and-open",
    /// A parameter is left open by two `find`s. Put all conditions into one.
    OpenTwice => "open-twice",
    /// `find` has no range to look in. Write `from LOWEST to HIGHEST`.
    NoRange => "no-range",
    /// `find` leaves more parameters open than it has conditions. Add one, or leave fewer open.
    TooFewConditions => "too-few-conditions",
    /// `find` has more conditions than parameters left open. Take one out, or leave another open.
    TooManyConditions => "too-many-conditions",

    // Drafting: numbers
    /// A parameter is set outside the range its shape states, or a cloth or table states what none
    /// can have. Keep it within.
    OutOfRange => "out-of-range",
    /// A `require` of the shape does not hold. The message says which number to change.
    Requirement => "requirement",
    /// A division by zero. Give the divisor another value.
    DividesByZero => "divides-by-zero",
    /// A calculation has no result, such as the root of a negative number. Check the numbers it is
    /// made from.
    NoValue => "no-value",
    /// A draft would take too long, or a line has too many parts. Draw with fewer steps, or ask less of
    /// `find`.
    TooMuchWork => "too-much-work",
    /// The range of a `find` is empty. Write it from its lowest to its highest value.
    EmptyRange => "empty-range",
    /// No value of the parameters left open meets the conditions of `find`. Change what is asked
    /// for, or widen the range.
    NoSolution => "no-solution",
    /// Several values meet the conditions of `find`. Narrow the range to the one that is meant.
    ManySolutions => "many-solutions",

    // Drafting: lines
    /// A profile runs back along the centre. Shorten the runs before the place.
    Backwards => "backwards",
    /// A point lies farther away than any cloth. Look for a number far too large.
    TooFar => "too-far",
    /// A line ends where it starts. Check the numbers its ends are made from.
    NoLength => "no-length",
    /// Lines to be chained leave a gap. Put them in order, or `reverse` one.
    Gap => "gap",
    /// A part of a curve ends before it starts. Name its points in the order the curve passes.
    EmptyStretch => "empty-stretch",
    /// Two lines run along each other, so they meet in no one place. Name a point of one instead.
    RunAlong => "run-along",
    /// A curve bends too sharply for its parallel. Make the distance smaller or the curve gentler.
    TooTight => "too-tight",
    /// A fold has a corner. Make a curve that bends into it gentler, or fold across a part of it without
    /// the corner.
    CornerInCrease => "corner-in-crease",
    /// A fold is too steep for its cloth to reach the line. Make the taper longer.
    TooSteep => "too-steep",
    /// A line is drawn through two points that are the same. Name two different ones.
    OnePoint => "one-point",
    /// A point that should be on a curve is not. Name a point of the curve.
    NotOnCurve => "not-on-curve",
    /// A curve does not reach a station. Name a station between its ends.
    NoStation => "no-station",
    /// A curve passes a station more than once. Name a point of the curve instead.
    ManyPlaces => "many-places",
    /// A length along a curve is longer than the curve. Make it shorter.
    PastTheEnd => "past-the-end",
    /// Two lines never meet. Check the lengths and angles they are drawn from.
    NoMeeting => "no-meeting",
    /// Two lines meet more than once. Say which meeting is meant with `near`.
    ManyMeetings => "many-meetings",
    /// A curve has no one direction. Ask for its direction at a point.
    NotStraight => "not-straight",
    /// Nothing is left of a part: its run is zero, or a cut took it away. Use a part that is there.
    NoPart => "no-part",

    // Drafting: pieces
    /// Neighbouring edges of an outline never meet. Check their order and what they are drawn from.
    EdgesApart => "edges-apart",
    /// Nothing is left of an edge between its neighbours. Lower an allowance or margin, or lengthen
    /// the edge.
    EdgeSwallowed => "edge-swallowed",
    /// An outline crosses itself. Check the lengths and angles of the edges named.
    CrossesItself => "crosses-itself",
    /// A line to cut along does not cross the piece. Move the line, or leave the cut out.
    CutMisses => "cut-misses",
    /// A cut leaves several parts on the side to keep. Cut where the line crosses the piece twice.
    ManyParts => "many-parts",
    /// An allowance is negative. Make it zero or more.
    NegativeAllowance => "negative-allowance",
    /// A piece is cut from no cloth. Say which with `cloth NAME`.
    NoCloth => "no-cloth",
    /// A property of a cloth is read, and neither the cloth nor its role states it. State it.
    NotStated => "not-stated",
    /// A piece that gives is not cut on the true bias. Turn its grain, or let it not give.
    NotOnBias => "not-on-bias",
    /// A piece has no grain. Say where the warp runs with `grain ANGLE`.
    NoGrain => "no-grain",
    /// A number of pieces is not a whole number from 1 to 1000. Write one.
    BadQuantity => "bad-quantity",
    /// A notch has no depth. Give it one above zero.
    BadNotch => "bad-notch",
    /// A notch is not on its edge, or falls off the cut edge. Put it on the edge, farther from its
    /// ends.
    NotchOffEdge => "notch-off-edge",

    // Drafting: sewing, folding, proof
    /// An assembly sews a piece that is not cut under these parameters. Sew only pieces that are
    /// cut.
    NoPiece => "no-piece",
    /// A piece is used in an assembly before it lies there. `lay` it or sew it on first.
    NotSewn => "not-sewn",
    /// Edges sewn to each other have different numbers of notches. Notch both alike.
    NotchesUnpaired => "notches-unpaired",
    /// An assembly has no finished outline to compare with. Add `finish OUTLINE`.
    NoFinish => "no-finish",
    /// An expression stands where a piece must be named. Write the name of a piece.
    NotAName => "not-a-name",
    /// An endless line cannot be folded. Take a part of it.
    EndlessLine => "endless-line",
    /// A line of the proof does not hold. The hint is the shape's own advice.
    ProofFails => "proof-fails",

    // Drafting: the work bench
    /// An inspection measures nothing. Give it a point.
    EmptyInspection => "empty-inspection",
    /// A point of measure allows no deviation at all. Write a tolerance above zero.
    BadTolerance => "bad-tolerance",
    /// A step is to come after a step that is not there. Write the title of another step.
    UnknownStep => "unknown-step",

    // Readings
    /// A column of readings is headed by a name that is no point of measure. Check the spelling.
    UnknownColumn => "unknown-column",
    /// A table of readings lacks a column. Add it.
    NoColumn => "no-column",
    /// A row has more or fewer cells than the heading. Look for a stray or missing comma or quote.
    CellCount => "cell-count",
    /// A row says nothing, or does not say which tie it is of. Fill it in or take it out.
    BlankRow => "blank-row",
    /// One tie is read twice at one inspection. Keep one of the two rows.
    ReadTwice => "read-twice",
    /// A reading has no unit. Write it behind the number or into the heading.
    NoUnit => "no-unit",
    /// A cell holds no length above zero. Write one, or leave it blank.
    NotALength => "not-a-length",
    /// A tie of this style and size has no such point. Leave the cell blank.
    NoPoint => "no-point",
    /// A reading is so far off that it may be in another unit. Check it.
    WildReading => "wild-reading",
    /// A tie cannot be judged, since its pattern cannot be drafted. Put the pattern right first.
    NoDraft => "no-draft",

    // Order books
    /// An order is for no whole number of articles, or for more than can be meant. Write how many.
    BadCount => "bad-count",
    /// A cell holds no day of the calendar. Write it as `2027-03-31`.
    BadDate => "bad-date",
    /// An order has one article twice, or two customers. Put the rows together, or number them apart.
    OrderedTwice => "ordered-twice",
    /// A piece is wider than the cloth it is to be cut from. Order another cloth.
    TooWide => "too-wide",
    /// A tie takes more cloth than the cutting table is long. Cut it on a longer one.
    LongerThanTable => "longer-than-table",
    /// An article is ordered that no cloth with a width is named for. Name a cloth that states one.
    NoWidth => "no-width",
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A place that belongs to a diagnostic, with a word on why.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// A few words in lowercase; empty to mark the place only.
    pub text: String,
}

/// One thing wrong, where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Diagnostic {
    /// The kind of thing that is wrong.
    pub code: Code,
    /// Error or warning.
    pub severity: Severity,
    /// What is wrong, lowercase, without a final stop.
    pub message: String,
    /// The place to look at first. `None` when the input as a whole is at fault.
    pub primary: Option<Label>,
    /// Other places that matter.
    pub secondary: Vec<Label>,
    /// What to do, one sentence each.
    pub hints: Vec<String>,
}

impl Diagnostic {
    /// An error at `span`.
    pub fn error(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            primary: Some(Label {
                span,
                text: String::new(),
            }),
            secondary: Vec::new(),
            hints: Vec::new(),
        }
    }

    /// A warning at `span`.
    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(code, span, message)
        }
    }

    /// An error about the input as a whole.
    pub fn general(code: Code, message: impl Into<String>) -> Self {
        Self {
            primary: None,
            ..Self::error(code, Span::default(), message)
        }
    }

    /// A warning about the input as a whole.
    pub fn general_warning(code: Code, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::general(code, message)
        }
    }

    /// Puts a word under the primary place.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        if let Some(primary) = &mut self.primary {
            primary.text = text.into();
        }
        self
    }

    /// Adds another place.
    #[must_use]
    pub fn also(mut self, span: Span, text: impl Into<String>) -> Self {
        self.secondary.push(Label {
            span,
            text: text.into(),
        });
        self
    }

    /// Adds advice.
    #[must_use]
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        self.hints.push(text.into());
        self
    }

    /// Whether this stops the run.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}
