from analytics.render import method


def test_emphasis_and_paragraphs_are_kept() -> None:
    text = "\n**Formula.** One minus\nsurvival.\n\nAn *aside*.\n"
    assert method.paragraphs(text) == [
        [("strong", "Formula."), ("plain", " One minus survival.")],
        [("plain", "An "), ("em", "aside"), ("plain", ".")],
    ]
    assert method.html(text).count("<p>") == 2


def test_nothing_else_is_markup() -> None:
    nasty = "<script>alert(1)</script> [x](http://example.com) ![x](http://example.com/a.png)"
    assert "<script" not in method.html(nasty)
    assert "<a " not in method.html(nasty)
    assert "<img" not in method.html(nasty)
    assert method.paragraphs(nasty) == [[("plain", nasty)]]
    assert method.html("") == ""
    assert method.paragraphs("") == []
