import asyncio, pytest
from sqlalchemy import text, create_engine
def test_pg(empty_postgres_url):
    with create_engine(empty_postgres_url).connect() as c:
        print(c.execute(text("select version()")).scalar())
@pytest.mark.parametrize("n", range(5))
def test_clone(postgres_cluster, n):
    name = postgres_cluster.add_database(); postgres_cluster.remove_database(name)
def test_page(open_page, tmp_path):
    (tmp_path/"a.html").write_text("<title>x</title><h1>Hello</h1>")
    p = open_page("tablet"); p.goto(f"file://{tmp_path}/a.html"); assert p.title()=="x"; assert p.viewport_size["width"]==820
    with pytest.raises(Exception): p.goto("http://example.com")
def test_bad(open_page, tmp_path):
    (tmp_path/"a.html").write_text("<title>x</title><script>throw new Error('boo')</script>")
    p = open_page("phone"); p.goto(f"file://{tmp_path}/a.html")
def test_skip(): pytest.skip("because")
