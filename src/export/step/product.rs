//! Products, their contexts, colours and places in an assembly (ISO 10303-41, -43, -44, -46).

use crate::geom::Frame;

use super::brep::{self, Shared};
use super::part21::{Id, Part21};
use super::{Colour, Part, Schema};

/// Contexts that every product of a file refers to.
#[derive(Debug)]
pub(super) struct Contexts {
    product: Id,
    definition: Id,
    geometry: Id,
}

impl Contexts {
    /// Writes them, units and uncertainty included.
    pub(super) fn new(w: &mut Part21, schema: Schema) -> Self {
        let application = w.begin("APPLICATION_CONTEXT");
        w.string(schema.application());
        w.end();
        let _ = w.begin("APPLICATION_PROTOCOL_DEFINITION");
        w.raw("'international standard',");
        w.string(schema.protocol());
        w.raw(schema.year());
        w.id(application);
        w.end();
        let product = w.begin("PRODUCT_CONTEXT");
        w.raw("'',");
        w.id(application);
        w.raw(",'mechanical'");
        w.end();
        let definition = w.begin("PRODUCT_DEFINITION_CONTEXT");
        w.raw("'part definition',");
        w.id(application);
        w.raw(",'design'");
        w.end();
        let geometry = geometry_context(w);
        Self {
            product,
            definition,
            geometry,
        }
    }
}

/// mm, rad and sr, and the distance below which two points are one.
fn geometry_context(w: &mut Part21) -> Id {
    let mm = w.entity("", "LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.)");
    let rad = w.entity("", "NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.)");
    let sr = w.entity(
        "",
        "NAMED_UNIT(*) SI_UNIT($,.STERADIAN.) SOLID_ANGLE_UNIT()",
    );
    let uncertainty = w.begin("UNCERTAINTY_MEASURE_WITH_UNIT");
    w.raw("LENGTH_MEASURE(");
    w.real(crate::solid::check::PLACE_MM);
    w.raw("),");
    w.id(mm);
    w.raw(",'distance_accuracy_value','greatest distance of points that are one'");
    w.end();
    let context = w.begin("");
    w.raw("GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(");
    w.ids([uncertainty]);
    w.raw(") GLOBAL_UNIT_ASSIGNED_CONTEXT(");
    w.ids([mm, rad, sr]);
    w.raw(") REPRESENTATION_CONTEXT('','3D')");
    w.end();
    context
}

/// A product with its shape, as written.
#[derive(Debug, Clone, Copy)]
pub(super) struct Product {
    definition: Id,
    representation: Id,
    /// The placement of the product's own frame.
    home: Id,
}

/// Writes a part with its solid; answers the product and the styled item of its colour.
pub(super) fn part(
    w: &mut Part21,
    contexts: &Contexts,
    shared: &mut Shared,
    part: &Part<'_>,
) -> (Product, Id) {
    let home = shared.home(w);
    let brep = brep::solid(w, shared, part.body);
    let styled = styled(w, brep, part.colour);
    let shape = ("ADVANCED_BREP_SHAPE_REPRESENTATION", vec![home, brep]);
    let names = (part.id, part.body.name(), part.description);
    (product(w, contexts, names, shape, home), styled)
}

/// Writes the product of an assembly whose parts will be placed at `places`.
pub(super) fn assembly(
    w: &mut Part21,
    contexts: &Contexts,
    shared: &Shared,
    names: (&str, &str, &str),
    places: &[Id],
) -> Product {
    let home = shared.home(w);
    let items = std::iter::once(home)
        .chain(places.iter().copied())
        .collect();
    product(w, contexts, names, ("SHAPE_REPRESENTATION", items), home)
}

fn product(
    w: &mut Part21,
    contexts: &Contexts,
    (id, name, description): (&str, &str, &str),
    (keyword, items): (&str, Vec<Id>),
    home: Id,
) -> Product {
    let product = w.begin("PRODUCT");
    w.string(id);
    w.raw(",");
    w.string(name);
    w.raw(",");
    w.string(description);
    w.raw(",");
    w.ids([contexts.product]);
    w.end();
    let _ = w.begin("PRODUCT_RELATED_PRODUCT_CATEGORY");
    w.raw("'part',$,");
    w.ids([product]);
    w.end();
    let formation = w.begin("PRODUCT_DEFINITION_FORMATION");
    w.raw("'','',");
    w.id(product);
    w.end();
    let definition = w.begin("PRODUCT_DEFINITION");
    w.raw("'design','',");
    w.id(formation);
    w.raw(",");
    w.id(contexts.definition);
    w.end();
    let shape = w.begin("PRODUCT_DEFINITION_SHAPE");
    w.raw("'','',");
    w.id(definition);
    w.end();
    let representation = w.begin(keyword);
    w.string(name);
    w.raw(",");
    w.ids(items);
    w.raw(",");
    w.id(contexts.geometry);
    w.end();
    let _ = w.begin("SHAPE_DEFINITION_REPRESENTATION");
    w.id(shape);
    w.raw(",");
    w.id(representation);
    w.end();
    Product {
        definition,
        representation,
        home,
    }
}

/// Writes where a frame lies.
pub(super) fn place(w: &mut Part21, frame: &Frame) -> Id {
    brep::placed(w, frame.origin, frame.normal, frame.x)
}

/// Writes one use of a part in an assembly, its own frame brought to `place`.
pub(super) fn usage(
    w: &mut Part21,
    (number, name): (usize, &str),
    assembly: &Product,
    part: &Product,
    place: Id,
) {
    let usage = w.begin("NEXT_ASSEMBLY_USAGE_OCCURRENCE");
    w.string(&number.to_string());
    w.raw(",");
    w.string(name);
    w.raw(",'',");
    w.id(assembly.definition);
    w.raw(",");
    w.id(part.definition);
    w.raw(",$");
    w.end();
    let shape = w.begin("PRODUCT_DEFINITION_SHAPE");
    w.raw("'','',");
    w.id(usage);
    w.end();
    let transformation = w.begin("ITEM_DEFINED_TRANSFORMATION");
    w.raw("'','',");
    w.id(part.home);
    w.raw(",");
    w.id(place);
    w.end();
    let relation = w.begin("");
    w.raw("REPRESENTATION_RELATIONSHIP('','',");
    w.id(part.representation);
    w.raw(",");
    w.id(assembly.representation);
    w.raw(") REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(");
    w.id(transformation);
    w.raw(") SHAPE_REPRESENTATION_RELATIONSHIP()");
    w.end();
    let _ = w.begin("CONTEXT_DEPENDENT_SHAPE_REPRESENTATION");
    w.id(relation);
    w.raw(",");
    w.id(shape);
    w.end();
}

fn styled(w: &mut Part21, brep: Id, colour: Colour) -> Id {
    let rgb = w.begin("COLOUR_RGB");
    w.raw("''");
    for share in [colour.red, colour.green, colour.blue] {
        w.raw(",");
        w.real(f64::from(share) / 255.0);
    }
    w.end();
    // Each wraps the one before it.
    let mut wrapped = rgb;
    for (keyword, before, after) in [
        ("FILL_AREA_STYLE_COLOUR", "'',", ""),
        ("FILL_AREA_STYLE", "'',(", ")"),
        ("SURFACE_STYLE_FILL_AREA", "", ""),
        ("SURFACE_SIDE_STYLE", "'',(", ")"),
        ("SURFACE_STYLE_USAGE", ".BOTH.,", ""),
        ("PRESENTATION_STYLE_ASSIGNMENT", "(", ")"),
    ] {
        let id = w.begin(keyword);
        w.raw(before);
        w.id(wrapped);
        w.raw(after);
        w.end();
        wrapped = id;
    }
    let item = w.begin("STYLED_ITEM");
    w.raw("'colour',");
    w.ids([wrapped]);
    w.raw(",");
    w.id(brep);
    w.end();
    item
}

/// Writes the representation that all colours of a file belong to.
pub(super) fn presentation(w: &mut Part21, contexts: &Contexts, styled: Vec<Id>) {
    let _ = w.begin("MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION");
    w.raw("'',");
    w.ids(styled);
    w.raw(",");
    w.id(contexts.geometry);
    w.end();
}
