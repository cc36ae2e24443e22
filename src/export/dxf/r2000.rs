//! The R2000 (AC1015) form of a drawing.
//!
//! Every table, block and object an auditor asks for is there with a fixed
//! handle and its owner; the drawing's own entities follow with handles from
//! [`FIRST_OWN_HANDLE`]. What a file may leave out and would carry a clock's
//! or chance's mark (creation and update times, GUIDs) is left out.

use std::sync::LazyLock;

use super::tags::{Tags, escape, spread};
use super::{DxfError, Layer, Ready};
use crate::geom::Extents;

/// Handles below are those of the fixed part of the file.
const FIRST_OWN_HANDLE: u32 = 0x100;

static HEAD: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=SECTION 2=HEADER
        9=$ACADVER 1=AC1015
        9=$DWGCODEPAGE 3=ANSI_1252
        9=$INSBASE 10=0.0 20=0.0 30=0.0",
    )
});

/// The rest of the header, the classes of the objects below, and the first table.
static AFTER_EXTENTS: LazyLock<String> = LazyLock::new(|| {
    spread(
        "9=$INSUNITS 70=4      # mm
        9=$MEASUREMENT 70=1    # metric
        9=$LUNITS 70=2 9=$LUPREC 70=4 9=$AUNITS 70=0
        9=$CLAYER 8=0
        9=$HANDSEED 5=@SEED
        0=ENDSEC
        0=SECTION 2=CLASSES
        0=CLASS 1=ACDBDICTIONARYWDFLT 2=AcDbDictionaryWithDefault 3=ObjectDBX~Classes 90=0 280=0 281=0
        0=CLASS 1=ACDBPLACEHOLDER 2=AcDbPlaceHolder 3=ObjectDBX~Classes 90=0 280=0 281=0
        0=CLASS 1=LAYOUT 2=AcDbLayout 3=ObjectDBX~Classes 90=0 280=0 281=0
        0=ENDSEC
        0=SECTION 2=TABLES
        0=TABLE 2=VPORT 5=8 330=0 100=AcDbSymbolTable 70=1
        0=VPORT 5=29 330=8 100=AcDbSymbolTableRecord 100=AcDbViewportTableRecord 2=*Active 70=0",
    )
});

/// The tables up to the layers.
static AFTER_VIEW: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=ENDTAB
        0=TABLE 2=LTYPE 5=5 330=0 100=AcDbSymbolTable 70=3
        0=LTYPE 5=14 330=5 100=AcDbSymbolTableRecord 100=AcDbLinetypeTableRecord 2=ByBlock 70=0 3= 72=65 73=0 40=0.0
        0=LTYPE 5=15 330=5 100=AcDbSymbolTableRecord 100=AcDbLinetypeTableRecord 2=ByLayer 70=0 3= 72=65 73=0 40=0.0
        0=LTYPE 5=16 330=5 100=AcDbSymbolTableRecord 100=AcDbLinetypeTableRecord 2=Continuous 70=0 3=Solid~line 72=65 73=0 40=0.0
        0=ENDTAB
        0=TABLE 2=LAYER 5=2 330=0 100=AcDbSymbolTable",
    )
});

/// The tables after the layers, the blocks of model and paper, and the start of the entities.
static AFTER_LAYERS: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=ENDTAB
        0=TABLE 2=STYLE 5=3 330=0 100=AcDbSymbolTable 70=1
        0=STYLE 5=11 330=3 100=AcDbSymbolTableRecord 100=AcDbTextStyleTableRecord 2=Standard 70=0 40=0.0 41=1.0 50=0.0 71=0 42=2.5 3=txt 4=
        0=ENDTAB
        0=TABLE 2=VIEW 5=6 330=0 100=AcDbSymbolTable 70=0
        0=ENDTAB
        0=TABLE 2=UCS 5=7 330=0 100=AcDbSymbolTable 70=0
        0=ENDTAB
        0=TABLE 2=APPID 5=9 330=0 100=AcDbSymbolTable 70=1
        0=APPID 5=12 330=9 100=AcDbSymbolTableRecord 100=AcDbRegAppTableRecord 2=ACAD 70=0
        0=ENDTAB
        0=TABLE 2=DIMSTYLE 5=A 330=0 100=AcDbSymbolTable 70=1 100=AcDbDimStyleTable
        0=DIMSTYLE 105=27 330=A 100=AcDbSymbolTableRecord 100=AcDbDimStyleTableRecord 2=Standard 70=0 340=11
        0=ENDTAB
        0=TABLE 2=BLOCK_RECORD 5=1 330=0 100=AcDbSymbolTable 70=2
        0=BLOCK_RECORD 5=1F 330=1 100=AcDbSymbolTableRecord 100=AcDbBlockTableRecord 2=*Model_Space 340=22
        0=BLOCK_RECORD 5=1B 330=1 100=AcDbSymbolTableRecord 100=AcDbBlockTableRecord 2=*Paper_Space 340=1E
        0=ENDTAB
        0=ENDSEC
        0=SECTION 2=BLOCKS
        0=BLOCK 5=20 330=1F 100=AcDbEntity 8=0 100=AcDbBlockBegin 2=*Model_Space 70=0 10=0.0 20=0.0 30=0.0 3=*Model_Space 1=
        0=ENDBLK 5=21 330=1F 100=AcDbEntity 8=0 100=AcDbBlockEnd
        0=BLOCK 5=1C 330=1B 100=AcDbEntity 67=1 8=0 100=AcDbBlockBegin 2=*Paper_Space 70=0 10=0.0 20=0.0 30=0.0 3=*Paper_Space 1=
        0=ENDBLK 5=1D 330=1B 100=AcDbEntity 67=1 8=0 100=AcDbBlockEnd
        0=ENDSEC
        0=SECTION 2=ENTITIES",
    )
});

/// The named-object dictionary with its two layouts, the plot style every layer refers to, and the multiline style.
static OBJECTS: LazyLock<String> = LazyLock::new(|| {
    spread(
        "0=ENDSEC
        0=SECTION 2=OBJECTS
        0=DICTIONARY 5=C 330=0 100=AcDbDictionary 281=1 3=ACAD_GROUP 350=D 3=ACAD_LAYOUT 350=1A 3=ACAD_MLINESTYLE 350=17 3=ACAD_PLOTSETTINGS 350=19 3=ACAD_PLOTSTYLENAME 350=E
        0=DICTIONARY 5=D 330=C 100=AcDbDictionary 281=1
        0=DICTIONARY 5=1A 330=C 100=AcDbDictionary 281=1 3=Layout1 350=1E 3=Model 350=22
        0=DICTIONARY 5=17 330=C 100=AcDbDictionary 281=1 3=Standard 350=18
        0=DICTIONARY 5=19 330=C 100=AcDbDictionary 281=1
        0=ACDBDICTIONARYWDFLT 5=E 330=C 100=AcDbDictionary 281=1 3=Normal 350=F 100=AcDbDictionaryWithDefault 340=F
        0=ACDBPLACEHOLDER 5=F 330=E
        0=MLINESTYLE 5=18 330=17 100=AcDbMlineStyle 2=STANDARD 70=0 3= 62=256 51=90.0 52=90.0 71=2 49=0.5 62=256 6=BYLAYER 49=-0.5 62=256 6=BYLAYER
        0=LAYOUT 5=1E 330=1A 100=AcDbPlotSettings 1= 4=A3 6= 40=7.5 41=7.5 42=7.5 43=7.5 44=420.0 45=297.0 46=0.0 47=0.0 48=0.0 49=0.0 140=0.0 141=0.0 142=1.0 143=1.0 70=0 72=1 73=0 74=5 7= 75=16 147=1.0 148=0.0 149=0.0 100=AcDbLayout 1=Layout1 70=1 71=1 10=0.0 20=0.0 11=420.0 21=297.0 12=0.0 22=0.0 32=0.0 14=0.0 24=0.0 34=0.0 15=420.0 25=297.0 35=0.0 146=0.0 13=0.0 23=0.0 33=0.0 16=1.0 26=0.0 36=0.0 17=0.0 27=1.0 37=0.0 76=0 330=1B
        0=LAYOUT 5=22 330=1A 100=AcDbPlotSettings 1= 4=A3 6= 40=7.5 41=7.5 42=7.5 43=7.5 44=420.0 45=297.0 46=0.0 47=0.0 48=0.0 49=0.0 140=0.0 141=0.0 142=1.0 143=1.0 70=1024 72=1 73=0 74=5 7= 75=16 147=1.0 148=0.0 149=0.0 100=AcDbLayout 1=Model 70=1 71=0 10=0.0 20=0.0 11=420.0 21=297.0 12=0.0 22=0.0 32=0.0 14=0.0 24=0.0 34=0.0 15=420.0 25=297.0 35=0.0 146=0.0 13=0.0 23=0.0 33=0.0 16=1.0 26=0.0 36=0.0 17=0.0 27=1.0 37=0.0 76=0 330=1F
        0=ENDSEC
        0=EOF",
    )
});

pub(super) fn write(ready: &[(Layer, Ready<'_>)], extents: Extents) -> Result<Vec<u8>, DxfError> {
    let mut t = Tags::new(12_288 + 512 * ready.len(), FIRST_OWN_HANDLE);
    t.put_all(&HEAD);
    t.extents(extents)?;
    t.put_all(&AFTER_EXTENTS);
    t.view(extents)?;
    t.put_all(&AFTER_VIEW);
    let layers = super::used(ready);
    t.count("70", layers.len() + 1);
    t.put_all("0\nLAYER\n5\n10\n330\n2\n100\nAcDbSymbolTableRecord\n100\nAcDbLayerTableRecord\n");
    t.put_all("2\n0\n70\n0\n62\n7\n6\nContinuous\n370\n-3\n390\nF\n");
    for layer in layers {
        t.put_all("0\nLAYER\n");
        t.handle();
        t.put_all("330\n2\n100\nAcDbSymbolTableRecord\n100\nAcDbLayerTableRecord\n");
        t.put("2", layer.name());
        t.put_all("70\n0\n62\n7\n6\nContinuous\n370\n-3\n390\nF\n");
    }
    t.put_all(&AFTER_LAYERS);
    for (layer, shape) in ready {
        entity(&mut t, *layer, shape)?;
    }
    t.put_all(&OBJECTS);
    Ok(t.finish("@SEED"))
}

fn start(t: &mut Tags, kind: &str, layer: Layer, subclass: &str) {
    t.put("0", kind);
    t.handle();
    t.put_all("330\n1F\n100\nAcDbEntity\n");
    t.put("8", layer.name());
    t.put("100", subclass);
}

fn entity(t: &mut Tags, layer: Layer, shape: &Ready<'_>) -> Result<(), DxfError> {
    match shape {
        Ready::Polyline { vertices, closed } => {
            start(t, "LWPOLYLINE", layer, "AcDbPolyline");
            t.count("90", vertices.len());
            t.put("70", if *closed { "1" } else { "0" });
            t.put_all("43\n0.0\n");
            for v in vertices {
                t.point(v.at, layer)?;
                if v.bulge != 0.0 {
                    t.ratio("42", v.bulge, layer)?;
                }
            }
        }
        Ready::Circle { centre, radius } => {
            start(t, "CIRCLE", layer, "AcDbCircle");
            t.point(*centre, layer)?;
            t.put_all("30\n0.0\n");
            t.length("40", *radius, layer)?;
        }
        Ready::Line { from, to } => {
            start(t, "LINE", layer, "AcDbLine");
            t.point(*from, layer)?;
            t.put_all("30\n0.0\n");
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
            start(t, "TEXT", layer, "AcDbText");
            t.point(*at, layer)?;
            t.put_all("30\n0.0\n");
            t.length("40", *height, layer)?;
            t.put("1", &escape(text));
            t.ratio("50", angle.to_degrees(), layer)?;
            t.put_all("100\nAcDbText\n");
        }
    }
    Ok(())
}
