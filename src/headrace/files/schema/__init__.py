"""What each file of a campaign may say: one model per file, strict, in SI once read.

Every quantity is text with a unit. `FILES` lists the kinds of file; `json_schema` exports one for editors.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from headrace.files.schema.article import ArticleTable
from headrace.files.schema.bench import BenchTable
from headrace.files.schema.campaign import CampaignTable
from headrace.files.schema.certificates import CertificatesTable
from headrace.files.schema.engine import EngineTable
from headrace.files.schema.fields import Table
from headrace.files.schema.ledger import LedgerTable
from headrace.files.schema.run import RunTable

FILES: Mapping[str, type[Table]] = MappingProxyType(
    {
        "campaign": CampaignTable,
        "bench": BenchTable,
        "certificates": CertificatesTable,
        "article": ArticleTable,
        "engine": EngineTable,
        "ledger": LedgerTable,
        "run": RunTable,
    }
)
"""Each kind of file by name; `campaign` is campaign.toml, `run` is every runs/<id>/run.toml."""


def json_schema(file_kind: str) -> dict[str, Any]:
    """JSON Schema (2020-12) of one kind of file; KeyError for a kind that is not in `FILES`."""
    schema = FILES[file_kind].model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
