//! The R12 (AC1009) form of a drawing.

use std::sync::LazyLock;

use super::tags::{Tags, escape, spread};
use super::{DxfError, Layer, Ready};
use crate::geom::{Extents, Point};

/// Variables before the drawing's box. R12 itself knows no `$INSUNITS`; later readers of the file do.
static HEAD: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=SECTION 2=HEADER
        9=$ACADVER 1=AC1009
        9=$DWGCODEPAGE 3=ANSI_1252
        9=$INSBASE 10=0.0 20=0.0 30=0.0",
    )
});

static AFTER_EXTENTS: LazyLock<String> = LazyLock::new(|| {
    spread(
        "9=$INSUNITS 70=4      # mm
        9=$MEASUREMENT 70=1    # metric
        9=$LUNITS 70=2 9=$LUPREC 70=4 9=$AUNITS 70=0
        9=$CLAYER 8=0
        9=$HANDLING 70=1
        9=$HANDSEED 5=@SEED
        0=ENDSEC
        0=SECTION 2=TABLES
        0=TABLE 2=VPORT 70=1
        0=VPORT 2=*ACTIVE 70=0",
    )
});

static AFTER_VIEW: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=ENDTAB
        0=TABLE 2=LTYPE 70=1
        0=LTYPE 2=CONTINUOUS 70=0 3=Solid~line 72=65 73=0 40=0.0
        0=ENDTAB
        0=TABLE 2=LAYER",
    )
});

static AFTER_LAYERS: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=ENDTAB
        0=TABLE 2=STYLE 70=1
        0=STYLE 2=STANDARD 70=0 40=0.0 41=1.0 50=0.0 71=0 42=2.5 3=txt 4=
        0=ENDTAB
        0=TABLE 2=VIEW 70=0 0=ENDTAB
        0=TABLE 2=UCS 70=0 0=ENDTAB
        0=TABLE 2=APPID 70=1
        0=APPID 2=ACAD 70=0
        0=ENDTAB
        0=TABLE 2=DIMSTYLE 70=0 0=ENDTAB
        0=ENDSEC
        0=SECTION 2=BLOCKS 0=ENDSEC
        0=SECTION 2=ENTITIES",
    )
});

pub(super) fn write(ready: &[(Layer, Ready<'_>)], extents: Extents) -> Result<Vec<u8>, DxfError> {
    let mut t = Tags::new(4096 + 512 * ready.len(), 0x10);
    t.put_all(&HEAD);
    t.extents(extents)?;
    t.put_all(&AFTER_EXTENTS);
    t.view(extents)?;
    t.put_all(&AFTER_VIEW);
    let layers = super::used(ready);
    t.count("70", layers.len() + 1);
    for name in std::iter::once("0").chain(layers.iter().map(|l| l.name())) {
        t.put_all("0\nLAYER\n");
        t.put("2", name);
        t.put_all("70\n0\n62\n7\n6\nCONTINUOUS\n");
    }
    t.put_all(&AFTER_LAYERS);
    for (layer, shape) in ready {
        entity(&mut t, *layer, shape)?;
    }
    t.put_all("0\nENDSEC\n0\nEOF\n");
    Ok(t.finish("@SEED"))
}

fn start(t: &mut Tags, kind: &str, layer: Layer) {
    t.put("0", kind);
    t.handle();
    t.put("8", layer.name());
}

fn point(t: &mut Tags, p: Point, layer: Layer) -> Result<(), DxfError> {
    t.point(p, layer)?;
    t.put_all("30\n0.0\n");
    Ok(())
}

fn entity(t: &mut Tags, layer: Layer, shape: &Ready<'_>) -> Result<(), DxfError> {
    match shape {
        Ready::Polyline { vertices, closed } => {
            start(t, "POLYLINE", layer);
            t.put_all("66\n1\n10\n0.0\n20\n0.0\n30\n0.0\n");
            t.put("70", if *closed { "1" } else { "0" });
            for v in vertices {
                start(t, "VERTEX", layer);
                point(t, v.at, layer)?;
                if v.bulge != 0.0 {
                    t.ratio("42", v.bulge, layer)?;
                }
            }
            start(t, "SEQEND", layer);
        }
        Ready::Circle { centre, radius } => {
            start(t, "CIRCLE", layer);
            point(t, *centre, layer)?;
            t.length("40", *radius, layer)?;
        }
        Ready::Line { from, to } => {
            start(t, "LINE", layer);
            point(t, *from, layer)?;
            t.length("11", to.x, layer)?;
            t.length("21", to.y, layer)?;
            t.put_all("31\n0.0\n");
        }
        Ready::Text {
            at,
            height,
            angle,
            text,
        } => {
            start(t, "TEXT", layer);
            point(t, *at, layer)?;
            t.length("40", *height, layer)?;
            t.put("1", &escape(text));
            t.ratio("50", angle.to_degrees(), layer)?;
        }
    }
    Ok(())
}
