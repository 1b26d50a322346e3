"""`wetside FILE` where no window can open: the solved plant as a table, and how to get a picture."""

from tests.programs.conftest import Run


def test_a_file_without_display_is_shown_as_solve_shows_it(wetside: Run):
    shown, solved = wetside("potting_shed.plant.json"), wetside("solve", "potting_shed.plant.json")
    assert (shown.returncode, shown.stdout) == (0, solved.stdout)
    assert "P-1" in shown.stdout
    assert shown.stderr.count("\n") == 1
    assert shown.stderr.startswith("A window needs a display, and there is none here")
    assert shown.stderr.endswith("For a picture: wetside print potting_shed.plant.json -o OUT.pdf\n")


def test_a_display_that_does_not_answer_counts_as_none(wetside: Run):
    shown = wetside("potting_shed.plant.json", DISPLAY=":987")
    assert shown.returncode == 0
    assert "P-1" in shown.stdout
    assert shown.stderr.endswith("For a picture: wetside print potting_shed.plant.json -o OUT.pdf\n")


def test_the_name_to_print_is_quoted_for_the_shell(wetside: Run, folder):
    (folder / "potting_shed.plant.json").rename(folder / "my shed.plant.json")
    shown = wetside("my shed.plant.json")
    assert shown.stderr.endswith("For a picture: wetside print 'my shed.plant.json' -o OUT.pdf\n")


def test_a_spoiled_file_is_refused_without_a_word_of_pictures(wetside: Run, folder):
    (folder / "potting_shed.plant.json").write_text('{"format": "wetside-plant", "vers', encoding="utf-8")
    shown = wetside("potting_shed.plant.json")
    assert (shown.returncode, shown.stdout) == (2, "")
    assert shown.stderr.startswith("potting_shed.plant.json: ")
    assert shown.stderr.count("\n") == 1
