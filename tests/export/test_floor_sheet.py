"""Floor plans on the printed sheets."""

import io
import re
from dataclasses import replace

import pypdf

from composer.export.choice import WHOLE
from composer.export.sheet import PAGES, sheet_data, sheet_pdf


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def test_floor_plans_are_printed_with_everybody_s_place_in_words(duo, library):
    """Wren stands 2 m upstage on the middle line, later 1.5 m to stage right, 3 m upstage."""
    pdf = reader(sheet_pdf(duo, library, pages=("floor",)))
    text = re.sub(r"\s+", " ", "".join(page.extract_text() for page in pdf.pages))
    assert "Wren on the middle line, 2 m upstage" in text
    assert "Wren 1.5 m stage right, 3 m upstage" in text
    assert len(pdf.pages) == 1
    nowhere = replace(duo, spots=())
    assert sheet_data(nowhere, library, (), WHOLE, paper="a4", pages=PAGES)["floor"] == []
    assert len(reader(sheet_pdf(nowhere, library)).pages) == 5
