"""Write anew what README.md, DEVELOPERS.md, the guide and schedules/schemas have from feedplan.

python -m tests.docs.refresh, then read git diff.
"""

from concurrent.futures import ProcessPoolExecutor

from tests.docs.pages import PAGES, ROOT, SCHEMAS, render, schema_text

if __name__ == "__main__":
    with ProcessPoolExecutor() as pool:
        texts = pool.map(render, [page.read_text(encoding="utf-8") for page in PAGES])
        wanted = dict(zip(PAGES, texts, strict=True))
    wanted |= {path: schema_text(kind) for path, kind in SCHEMAS.items()}
    for path, text in wanted.items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
            print(f"Wrote {path.relative_to(ROOT)} anew; read git diff.")
