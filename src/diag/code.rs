//! The table of all finding codes, each with the page that `explain` prints.
//!
//! A code is never reused for another meaning. The letter is the family, the
//! number is arbitrary but grouped.

use super::Severity;

/// What a family of codes is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Parameter files.
    Params,
    /// Geometry of plates.
    Geometry,
    /// Holes and other features.
    Holes,
    /// Belt drive.
    Belt,
    /// Joints.
    Joint,
    /// Clearances.
    Clearance,
    /// Strength.
    Strength,
    /// Readings taken at the bench.
    Bench,
    /// Written files.
    Export,
}

impl Family {
    /// The family's letter.
    #[must_use]
    pub const fn letter(self) -> char {
        match self {
            Self::Params => 'P',
            Self::Geometry => 'G',
            Self::Holes => 'H',
            Self::Belt => 'B',
            Self::Joint => 'J',
            Self::Clearance => 'C',
            Self::Strength => 'F',
            Self::Bench => 'M',
            Self::Export => 'X',
        }
    }
}

macro_rules! codes {
    ($($variant:ident $id:literal $family:ident $severity:ident $headline:literal $page:literal;)*) => {
        /// A kind of finding.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code {
            $(#[doc = concat!("`", $id, "`: ", $headline, ".")] $variant,)*
        }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The code as printed, such as `P201`.
            #[must_use]
            pub const fn id(self) -> &'static str {
                match self { $(Self::$variant => $id,)* }
            }

            /// The family it belongs to.
            #[must_use]
            pub const fn family(self) -> Family {
                match self { $(Self::$variant => Family::$family,)* }
            }

            /// How much it weighs unless a finding says otherwise.
            #[must_use]
            pub const fn severity(self) -> Severity {
                match self { $(Self::$variant => Severity::$severity,)* }
            }

            /// What it is, in a few words.
            #[must_use]
            pub const fn headline(self) -> &'static str {
                match self { $(Self::$variant => $headline,)* }
            }

            /// Its page: what it means, why it matters, what to do.
            #[must_use]
            pub const fn page(self) -> &'static str {
                match self { $(Self::$variant => $page,)* }
            }
        }
    };
}

codes! {
    Unreadable "P101" Params Error "a file cannot be read"
        "The file is not there, is a folder, or may not be read, or its folder may not be entered. \
         The system's own words follow the name. Check the spelling of the path and who may read it; \
         nothing was changed.";
    NotText "P102" Params Error "a file is not text"
        "Parameter files are text in UTF-8. This one holds bytes that are not, so it is most likely \
         another kind of file, or text saved as UTF-16 or in an old Windows code page. Open it in an \
         editor and save it as UTF-8.";
    TooLong "P103" Params Error "a file is too long"
        "A parameter file may be one mebibyte long; a large job is a fiftieth of that. A longer file \
         is most likely not a parameter file at all. Split it only if it really is one.";
    Empty "P104" Params Error "a file is empty"
        "The file holds nothing but blanks and remarks. Perhaps saving it went wrong; `platewright \
         new` starts a job with every file it needs, and `platewright schema` prints what a kind of \
         file may hold.";
    NoSuchFile "P105" Params Error "no file of that name"
        "A job names its block, accessories, stock and shop; each is looked up as NAME.toml beside \
         the job, then in the folders `blocks`, `accessories`, `stock` and `shops` beside it, then in \
         those folders of the nearest `params` folder above the job or the working folder, and at \
         last in the set that comes with the program. None of them has this name. The nearest name \
         found is offered.";
    Syntax "P110" Params Error "not TOML"
        "The text breaks the grammar of TOML at the mark: a quote or bracket that is not closed, a \
         key without a value, a key given twice. As long as a file has such a fault, its keys are \
         checked as far as they can be read, but missing keys and references into it are not judged.";
    TooDeep "P111" Params Error "nested too deeply"
        "Lists and tables are nested more than eighty deep. No parameter file needs more than six; \
         most likely closing brackets are missing, or the file was not written for this program.";
    TooMany "P112" Params Error "too many findings in one file"
        "Only the first two hundred findings of a file are listed. Mend those, or check whether the \
         file is meant for this program at all, and look again.";
    WrongKind "P120" Params Error "a file of another kind"
        "Every parameter file says in its key `kind` what it is: `block`, `accessory`, `job`, `shop` \
         or `stock`, or a kind of readings. This file says it is something else than what is needed \
         here. Name the right file, or mend its `kind`.";
    UnknownKey "P201" Params Error "unknown key"
        "The table has no such key, so it would have no effect, which is never what was meant. The \
         nearest key is offered. A key written after a [table] line belongs to that table: move keys \
         of the whole file above the first table.";
    MissingKey "P202" Params Error "missing key"
        "The table needs this key and there is no value that could be assumed. The mark stands on the \
         table's first line; write the key below it.";
    WrongType "P203" Params Error "value of the wrong type"
        "The key takes another kind of value: text stands in quotes, numbers do not, lists stand in [ \
         ], tables in { } or under a [table] line, and a table that may come more than once is \
         written [[table]].";
    NotFinite "P204" Params Error "not a finite number"
        "TOML allows `nan` and `inf` as numbers, but nothing can be measured, cut or computed with \
         them. Write the number that was measured.";
    OutOfRange "P205" Params Error "number out of range"
        "The number is outside what the key can mean: a thickness is more than zero, a position is \
         within ten metres of the crankshaft, an efficiency is at most 1. Look for a lost decimal \
         point, a sign, or a length in inches without its unit.";
    UnknownChoice "P206" Params Error "not one of the choices"
        "The key takes one of a few words, and this is none of them. The words are listed with the \
         nearest first.";
    BadLength "P207" Params Error "a length that cannot be read"
        "A length is a number, which is mm, or a text with a unit: `\"12 mm\"`, `\"0.5 in\"`, `\"3/8 in\"`, \
         `\"1 1/4 in\"`. The decimal sign is a point.";
    BadText "P208" Params Error "a text that cannot be used"
        "Names of holes, plates and the like become parts of file names, layer names and references, \
         so they are made of letters without accents, digits, `-` and `_`, begin with a letter or \
         digit, and are at most forty characters long. A reference is written `owner.hole`, such as \
         `block.A1`. A date is a calendar day, such as `2026-03-02`. Titles and reasons may be any \
         text, but not a blank one.";
    BadCount "P209" Params Error "a list of the wrong length"
        "The list has too few or too many elements: a point of a plate has two coordinates, a point \
         of the engine three, a polygon at least three corners.";
    KeysClash "P210" Params Error "keys that exclude or need each other"
        "The table describes one thing in several ways, of which exactly one (or at most one) may be \
         used: a mount is a through ear, a threaded ear or a pad. Keep the one that is meant.";
    DuplicateName "P301" Params Error "a name given twice"
        "Two things of one kind have the same name, so that a reference to it could mean either. The \
         second mark shows the first of them. Rename one; where a hole is taken twice, drop one.";
    UnknownReference "P302" Params Error "a reference to nothing"
        "The thing referred to does not exist: `block.A1` needs a hole A1 in the job's block, \
         `alternator.pivot` an accessory placed as `alternator` whose pattern has a mount `pivot`. \
         The nearest name is offered.";
    SelfReference "P303" Params Error "a thing that refers to itself"
        "A slot cannot swing about its own hole, a web cannot join a boss to itself, and an accessory \
         cannot pivot on the mount it is adjusted at: each needs the position of the thing it would \
         define.";
    NotApplicable "P304" Params Error "a reference to a thing that cannot serve"
        "The thing exists, but has not what is asked of it: the belt cannot run over an accessory \
         without a pulley, nothing can follow the drive of a job without a drive, and a slot cannot \
         be as long as the take-up of a drive that has none.";
    Contradiction "P305" Params Error "values that contradict each other"
        "Each value is possible, but not together: a range that ends before it begins, an idle speed \
         above the top speed, an arc whose radius is less than half its chord. The marks show the \
         values.";
    Degenerate "P306" Params Error "a shape or place that is none"
        "Two holes lie on one place, a direction has no length, a polygon crosses itself or has no \
         area. Nothing can be made of it; look for a line copied without its numbers being changed.";

    NoMaterialRow "G102" Geometry Error "a material has no data for a stock's thickness"
        "Mass, strength and thread engagement follow from the material, and its table covers thicknesses \
         within limits: a standard gives no strength for thicker plate. Use thinner stock or another \
         material.";
    OutlineFails "G201" Geometry Error "a plate's outline cannot be made"
        "The bosses, webs and drawn parts of the plate do not give one closed outline. The message says which part stands in the way.";
    AxisNotNormal "H101" Holes Error "a hole's axis is not the plate's normal"
        "A plate can only take holes that run straight through it: the axis of every hole it takes is its own normal, pointing the same way. Put the plate on a frame that faces along the hole, or turn the accessory.";
    UnknownThread "H102" Holes Error "a thread or head is in no table"
        "The size of a hole follows from its thread, so the thread has to be one the tables know.";
    SlotAboutItself "H103" Holes Error "a slot swings about its own hole"
        "An arc slot runs along a circle about a pivot, which has to be another hole, farther away than the slot is wide.";
    DeeperThanPlate "H104" Holes Error "a blind feature is as deep as the plate"
        "A blind hole, pocket or groove has to leave a floor. Leave `depth` out for a hole that goes right through.";
    CannotEngrave "H105" Holes Error "a text cannot be engraved"
        "Marks are engraved with single strokes, and the alphabet has letters, digits and a few signs. Write the text with those.";
    TakeClash "H106" Holes Error "a hole is asked to be two things"
        "A hole that is taken is one thing: a clearance hole, perhaps with a counterbore for a cap screw; a \
         slot; a tapped hole; or a reamed one. Its bolt has one head, and one part holds its thread. The \
         message says which two of these are asked for at once.";
    OnePlace "H107" Holes Error "two holes on one place"
        "Two holes of a plate have one centre, but cannot be one hole, because they are made in different \
         ways. Clearance holes for parts that share a bolt may be taken together: they become one hole.";
    MouthMisfit "H108" Holes Error "a counterbore or countersink does not fit its hole"
        "A mouth is wider than its hole and ends before the hole does. The message gives both sizes.";
    BossWithoutMetal "H109" Holes Error "a boss is no larger than its hole"
        "A boss is the metal round a hole. Leave `boss` out to have it follow from the edge-distance rule \
         and from what bears on it.";
    SlotClosesOnItself "H110" Holes Error "an arc slot meets itself"
        "The ends of an arc slot that runs nearly once round come closer than the slot is wide, so that the \
         piece within it falls out. Make it shorter.";
    NoDriver "B101" Belt Error "nothing drives the belt"
        "The run of the belt has to hold the crankshaft's pulley, a pulley of the block without a load, and the accessory that takes up the belt.";
    NoPath "B102" Belt Error "the belt has no path"
        "The pulleys as placed leave no way for the belt: circles overlap, the belt would cross itself, a span cuts through another pulley, a wrap vanishes, or the take-up cannot hold the length. The message names the pulleys.";
    SlotWithoutTakeUp "B103" Belt Error "a slot follows a take-up that does not move its hole"
        "slot = \"drive\" makes a slot as long as the belt's take-up moves the bolt in it: the mount named in \
         `adjust` of a take-up that swings, any mount of an accessory that slides. Other holes do not move \
         with it: give their slots ends of their own.";
    StackOverlaps "J001" Joint Error "a stack cannot be built"
        "Along a bolt's axis two parts claim the same room: a plate lies inside the block, inside an ear or inside another plate. The message gives the overlap in mm.";
    ThreadsDiffer "J002" Joint Error "two holes on one axis ask for different bolts"
        "Holes that share an axis share a bolt, so they have to have one thread.";
    ThreadBuried "J003" Joint Error "a bolt cannot reach its thread"
        "The part that holds the thread has to be the last of the stack, with the thread open towards the head.";
    SpacerNotStocked "J004" Joint Error "no stocked pieces make a spacer"
        "The job lists stocked washers and tubes for this bolt size, and no stack of at most six of them fills \
         the gap within the list's `tolerance`. The message gives the gap, and the stack that comes nearest.";
    BadReading "M101" Bench Error "a reading that cannot be"
        "A caliper reading is a length above zero, and the centres of two holes lie farther apart than \
         the holes are wide. Look at the sides the jaws touched, at the diameters and at the unit.";
    ImpossibleTriangle "M102" Bench Error "readings that cannot form a triangle"
        "One side of a triangle is never longer than the two others together. Where the other readings \
         tell which of the three is wrong, it is named with the value that would fit; otherwise all \
         three are, and one of them has to be taken again.";
    InchSlip "M103" Bench Error "an inch taken for a millimetre"
        "The reading does not fit, but does when multiplied or divided by 25.4. A length in a file is \
         mm unless it is written as a text with its unit, such as \"3.937 in\".";
    NetworkOpen "M104" Bench Error "the readings leave something free to move"
        "Each hole needs two readings that hold it, and the pattern as a whole a direction. What can \
         still move is named, with the further reading that fixes it best.";
    MirrorOpen "M105" Bench Warning "the readings fit another shape as well"
        "Lengths alone do not tell a pattern from its mirror image, and a hole held by two lengths may \
         lie on either side. The reading that tells best is named; where only the eye can tell, say in \
         [[seen]] which hole lies above or beside which.";
    DoubtfulReading "M106" Bench Warning "a reading that does not fit"
        "Its residual is larger than one good reading in a thousand shows (data snooping after Baarda). \
         The value that would fit is given. The result is made without it unless it is asked for: \
         take the reading again.";
    UncheckedReading "M107" Bench Note "a reading nothing checks"
        "No other reading would show an error in it, so it goes straight into the result. Take it \
         twice, or take one more between the same holes another way.";
    ReadingsScatter "M108" Bench Warning "the readings scatter more or less than stated"
        "Taken together the residuals are larger, or smaller, than the stated uncertainty allows in 95 \
         of 100 cases. Larger: state a larger uncertainty or look for several small errors. Smaller: \
         the stated uncertainty is on the safe side.";
    NoPattern "M109" Bench Error "the readings settle into no pattern"
        "The sum does not converge on any pattern. Most likely several readings are far from the truth.";
    FrameAssumed "M110" Bench Note "something was assumed about the frame"
        "Nothing was said about the origin, the direction or the height, so the first hole, pair or \
         face was taken. Say otherwise under [frame] or with a `z`.";
    BadGap "M201" Bench Error "a rod reading that cannot be"
        "A gap is a few millimetres at most; anything more is a slip of the unit or the rod lay on \
         something else. The reference pulley itself has no gap.";
    MountUnknown "M202" Bench Error "the mock-up cannot be understood"
        "Every pulley but the reference is carried by a mount, every mount is held by bolts, and no \
         mount carries itself. The message says what is missing.";

    IdleDeviation "X101" Export Warning "a deviation accepts nothing"
        "A deviation names a rule that does not fail where it says. Remove it: it could hide a later fault.";
    FirmRule "X102" Export Warning "a deviation from what cannot be made"
        "A rule can be accepted while a part is left to be made: a thin wall is a risk to be weighed. An \
         opening that runs into another one or through the outline leaves another part than the one drawn, \
         and no reason makes it right. The rule goes on failing.";
}

impl Code {
    /// The code printed as `id`, letter case ignored.
    #[must_use]
    pub fn from_id(id: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|c| c.id().eq_ignore_ascii_case(id))
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn codes_are_unique_and_carry_their_familys_letter() {
        let pages: BTreeSet<_> = Code::ALL.iter().map(|c| c.page()).collect();
        assert_eq!(pages.len(), Code::ALL.len(), "every code has its own page");
        let ids: BTreeSet<_> = Code::ALL.iter().map(|c| c.id()).collect();
        assert_eq!(ids.len(), Code::ALL.len());
        for c in Code::ALL {
            assert!(c.id().starts_with(c.family().letter()), "{c}");
            assert_eq!(Code::from_id(&c.id().to_lowercase()), Some(*c));
        }
    }
}
