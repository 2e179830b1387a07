"""The MusicXML schema that the package partitura carries (W3C Music Notation Community Group).

It is that of version 3.1. What is written uses nothing that came later (`number-level` up to 16 in
4.0, up to 6 in 3.1, only where more than six slurs are open at once). The two schemas that it
imports from the network, of `xml:lang` and of XLink, are given here, as far as it refers to them.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

_XML = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
  targetNamespace="http://www.w3.org/XML/1998/namespace">
  <xs:attribute name="lang" type="xs:language"/>
  <xs:attribute name="space"><xs:simpleType><xs:restriction base="xs:NCName">
    <xs:enumeration value="default"/><xs:enumeration value="preserve"/>
  </xs:restriction></xs:simpleType></xs:attribute>
</xs:schema>"""
_XLINK = b"""<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema"
  targetNamespace="http://www.w3.org/1999/xlink">
  <xs:attribute name="href" type="xs:anyURI"/><xs:attribute name="type" type="xs:string"/>
  <xs:attribute name="role" type="xs:token"/><xs:attribute name="title" type="xs:token"/>
  <xs:attribute name="show" type="xs:string"/><xs:attribute name="actuate" type="xs:string"/>
</xs:schema>"""


class _Imported(etree.Resolver):
    def resolve(self, system_url: str, public_id: str, context: object) -> object:
        for name, schema in (("xml.xsd", _XML), ("xlink.xsd", _XLINK)):
            if system_url.endswith(f"/{name}"):
                return self.resolve_string(schema, context)
        return None


@cache
def musicxml_schema() -> etree.XMLSchema:
    """Return the schema; partitura itself is not imported, which takes a second."""
    found = find_spec("partitura")
    assert found is not None, "partitura is not installed"
    assert found.origin is not None
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Imported())
    file = Path(found.origin).parent / "assets" / "musicxml.xsd"
    return etree.XMLSchema(etree.parse(file, parser))


def assert_valid_musicxml(document: bytes) -> None:
    """Fail with the schema's own words."""
    schema = musicxml_schema()
    assert schema.validate(etree.fromstring(document)), str(schema.error_log)
