"""One table of what the window can do: words, keys and when. Menus, the shortcut list and the tests read it.

Only words and keys: `window` ties each id to the method of the same name.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

When = Literal["always", "undoable", "redoable", "selected", "several", "one_item", "saved", "drawn"]
Where = Literal["window", "board"]


class Action(NamedTuple):
    """A thing to do.

    `where` is "board" for the plain letters: they work while the board has the keyboard and never steal a
    letter from a field. `checked` marks a choice that stays on; `group` names choices of which one is on.
    """

    id: str
    menu: str
    words: str
    keys: tuple[str, ...] = ()
    hint: str = ""
    when: When = "always"
    where: Where = "window"
    checked: bool = False
    group: str = ""


TABLE: tuple[Action, ...] = (
    Action("new", "Plant", "&New", ("Ctrl+N",), "Start with an empty board."),
    Action("open", "Plant", "&Open…", ("Ctrl+O",), "Open a plant file."),
    Action("new_window", "Plant", "New &window", ("Ctrl+Shift+N",), "One more window, with an empty board."),
    Action("open_beside", "Plant", "Open &in a new window…", ("Ctrl+Shift+O",), "This plant stays open."),
    Action("save", "Plant", "&Save", ("Ctrl+S",), "Write the plant to its file."),
    Action("save_as", "Plant", "Save &as…", ("Ctrl+Shift+S",), "Write the plant to another file."),
    Action("save_copy", "Plant", "Save a cop&y…", (), "To another file; go on with this one."),
    Action(
        "print_sheet", "Plant", "&Print to a file…", ("Ctrl+P",), "The sheet as PDF, SVG or PNG.", "drawn"
    ),
    Action(
        "print_paper",
        "Plant",
        "P&rint on a printer…",
        ("Ctrl+Shift+P",),
        "The sheet, by the system.",
        "drawn",
    ),
    Action("papers", "Plant", "Pap&ers…", (), "Report, takeoff, wiring, start-up, service.", "drawn"),
    Action("close", "Plant", "&Close", ("Ctrl+W",), "Close the window."),
    Action("quit", "Plant", "&Quit", ("Ctrl+Q",), "Close all windows."),
    Action("undo", "Edit", "&Undo", ("Ctrl+Z",), "Take the last change back.", "undoable"),
    Action("redo", "Edit", "&Redo", ("Ctrl+Y", "Ctrl+Shift+Z"), "Make the change again.", "redoable"),
    Action(
        "cut", "Edit", "Cu&t", ("Ctrl+X",), "Take what is selected to the clipboard.", "selected", "board"
    ),
    Action(
        "copy", "Edit", "&Copy", ("Ctrl+C",), "What is selected, pipes between it too.", "selected", "board"
    ),
    Action(
        "copy_drawing",
        "Edit",
        "Copy t&he drawing",
        ("Ctrl+Shift+C",),
        "As SVG, PNG and text at once, for other programs.",
        "drawn",
    ),
    Action("paste", "Edit", "&Paste", ("Ctrl+V",), "What was copied, with fresh tags.", "always", "board"),
    Action(
        "duplicate", "Edit", "Dup&licate", ("Ctrl+D",), "Once more, with fresh tags.", "selected", "board"
    ),
    Action("turn", "Edit", "Tur&n", ("R",), "Turn by a quarter, clockwise.", "selected", "board"),
    Action("mirror", "Edit", "&Mirror", ("M",), "Mirror left to right.", "selected", "board"),
    Action(
        "turn_round",
        "Edit",
        "Turn round &in its line",
        ("Shift+R",),
        "The other way; the pipes stay.",
        "one_item",
        "board",
    ),
    Action(
        "join",
        "Edit",
        "&Join what touches",
        ("J",),
        "A loose valve goes into the pipe it lies on, ports to what they lie on.",
        "selected",
        "board",
    ),
    Action(
        "bend",
        "Edit",
        "&Bend the pipe",
        ("B",),
        "Its runs and corners in turn by Tab, moved by arrow keys.",
        "one_item",
        "board",
    ),
    Action(
        "edit_here",
        "Edit",
        "Edit &where it stands",
        ("F2",),
        "What is not typed yet; nothing selected: of one item after the other.",
        "drawn",
        "board",
    ),
    Action(
        "unpin",
        "Edit",
        "Auto-rout&e the pipe",
        ("L",),
        "Forget the bends pinned by hand.",
        "selected",
        "board",
    ),
    Action(
        "delete", "Edit", "&Delete", ("Del", "Backspace"), "Delete; the pipe reconnects.", "selected", "board"
    ),
    Action("select_all", "Edit", "Select &all", ("Ctrl+A",), "Select every item and pipe.", "drawn", "board"),
    Action(
        "select_connected",
        "Edit",
        "Select all c&onnected",
        ("Ctrl+Shift+A",),
        "Along pipes.",
        "selected",
        "board",
    ),
    Action(
        "select_system",
        "Edit",
        "Select the s&ystem",
        ("Ctrl+Shift+Y",),
        "All of its water.",
        "selected",
        "board",
    ),
    Action(
        "select_kind", "Edit", "Select the &kind", ("Ctrl+Shift+K",), "All of one kind.", "selected", "board"
    ),
    Action("find", "Edit", "&Find", ("Ctrl+F",), "A tag, note, command or help; Return goes there."),
    Action(
        "insert",
        "Insert",
        "&Insert by name…",
        ("I",),
        "Type a name, or several in a row with > between them; Return takes it.",
        "always",
        "board",
    ),
    Action(
        "pull", "Insert", "&Pull a pipe", ("P",), "From a port of the selected item.", "one_item", "board"
    ),
    Action(
        "write_text",
        "Insert",
        "&Text",
        ("T",),
        "Words on the board, led to what is selected.",
        "always",
        "board",
    ),
    Action("new_length", "Insert", "&Length of new pipes…", (), "The guess that stands until one is typed."),
    Action(
        "keep_assembly",
        "Insert",
        "&Keep as an assembly…",
        ("Ctrl+Shift+G",),
        "What is selected, under a name on the shelf.",
        "selected",
        "board",
    ),
    *(
        Action(f"align_{side}", "Arrange", words, (f"Shift+Alt+{key}",), hint, "several", "board")
        for side, words, key, hint in (
            ("left", "Align &left edges", "Left", "On one vertical line."),
            ("centre", "Align &centers", "C", "Vertical runs become straight."),
            ("right", "Align &right edges", "Right", "On one vertical line."),
            ("top", "Al&ign top edges", "Up", "On one horizontal line."),
            ("middle", "Align &middles", "M", "Horizontal runs become straight."),
            ("bottom", "&Align bottom edges", "Down", "On one horizontal line."),
        )
    ),
    Action(
        "spread_across",
        "Arrange",
        "Distribute &horizontally",
        ("Shift+Alt+H",),
        "Even steps from left to right.",
        "several",
        "board",
    ),
    Action(
        "spread_down",
        "Arrange",
        "Distribute &vertically",
        ("Shift+Alt+V",),
        "Even steps from top to bottom.",
        "several",
        "board",
    ),
    *(
        Action(f"stage_{stage}", "Arrange", words, (f"Shift+Alt+{number}",), hint, "selected", "board")
        for number, (stage, words, hint) in enumerate(
            (
                ("existing", "Stage: &existing", "Was there before the work."),
                ("to_remove", "&Stage: to remove", "Still there; left out of the solve."),
                ("drawn", "Stage: &drawn", "Planned."),
                ("bought", "Stage: &bought", "On the shelf at home."),
                ("dry_fitted", "Stage: dry-&fitted", "In its place, not joined."),
                ("joined", "Stage: &joined", "Soldered, pressed or screwed."),
                ("tested", "Stage: &tested", "Held its pressure."),
            ),
            start=1,
        )
    ),
    Action("previous_case", "Case", "&Previous case", ("Ctrl+PgUp",), "Show the case before."),
    Action("next_case", "Case", "&Next case", ("Ctrl+PgDown",), "Show the case after."),
    Action("add_case", "Case", "&Add a case like this", (), "A copy of the case shown."),
    *(
        Action(f"case_{key}", "Case", words, (), hint, "drawn")
        for key, words, hint in (
            ("design_night", "Add: desi&gn night", "The coldest night; every room calls."),
            ("mild_day", "Add: &mild day", "45 °F or 7 °C; rooms call."),
            ("summer", "Add: &summer", "Rooms rest; hot water alone."),
            ("snowfall", "Add: snow&fall", "Every call, also those switched by hand."),
            ("morning_showers", "Add: m&orning showers", "Showers run, all else calls."),
            ("power_cut", "Add: power &cut", "Nothing electric runs."),
        )
    ),
    Action("pane_case", "Case", "&Edit the case", ("Ctrl+Alt+X",), "Calls and fixtures as ticks, weather."),
    Action("delete_case", "Case", "&Delete this case", (), "Delete the case shown."),
    Action(
        "fit",
        "View",
        "&Fit the drawing",
        ("F", "Ctrl+0"),
        "All of the drawing in the window.",
        "always",
        "board",
    ),
    Action("zoom_in", "View", "Zoom &in", ("Ctrl++", "Ctrl+="), "Closer."),
    Action("zoom_out", "View", "Zoom &out", ("Ctrl+-",), "Further away."),
    Action("full_size", "View", "&100 %", ("Ctrl+1",), "One unit of the grid is one point."),
    Action("show_tube", "View", "Pipe si&ze", ("Ctrl+Alt+5",), "Size beside the pipes.", checked=True),
    Action("show_flow", "View", "F&low", ("Ctrl+Alt+1",), "Flow beside the pipes.", checked=True),
    Action("show_velocity", "View", "&Velocity", ("Ctrl+Alt+2",), "Velocity beside the pipes.", checked=True),
    Action(
        "show_temperature", "View", "&Temperature", ("Ctrl+Alt+3",), "Temperature beside pipes.", checked=True
    ),
    Action(
        "show_head_loss", "View", "&Head loss", ("Ctrl+Alt+4",), "Head loss beside the pipes.", checked=True
    ),
    Action(
        "controls_shown",
        "View",
        "&Control lines",
        ("Ctrl+Alt+K",),
        "From signals to what they run, from outlets to what they feed.",
        checked=True,
    ),
    Action(
        "marks_shown",
        "View",
        "&Marks of findings",
        ("Ctrl+Alt+M",),
        "On the board, as numbered.",
        checked=True,
    ),
    Action("stages_shown", "View", "St&ages", ("Ctrl+Alt+G",), "Letters of the work's stage.", checked=True),
    Action("us", "View", "&US units", (), "gpm, °F, feet of head.", checked=True, group="units"),
    Action("si", "View", "&SI units", (), "L/s, °C, meters of head.", checked=True, group="units"),
    Action(
        "look_system",
        "View",
        "Follow s&ystem theme",
        (),
        "Light or dark, as the system is set.",
        checked=True,
        group="look",
    ),
    Action("look_light", "View", "Li&ght", (), "Ink on paper.", checked=True, group="look"),
    Action("look_dark", "View", "Dar&k", (), "Light lines on a dark board.", checked=True, group="look"),
    Action("shelf_shown", "View", "Sh&elf", ("Ctrl+Alt+S",), "The symbols to take from.", checked=True),
    Action("particulars_shown", "View", "&Particulars", ("Ctrl+Alt+P",), "What is selected.", checked=True),
    Action("notes_shown", "View", "&Notes", ("Ctrl+Alt+N",), "The solver's notes.", checked=True),
    Action(
        "why", "Ask", "Wh&y this size", ("W",), "The reason, beside what is selected.", "one_item", "board"
    ),
    Action(
        "shut_off", "Ask", "Shut it o&ff", ("Ctrl+Alt+O",), "Valves, drains and steps.", "one_item", "board"
    ),
    Action("size_it", "Ask", "Size &it", (), "What size it should have, and the ones beside.", "one_item"),
    Action("who_robs", "Ask", "Who ro&bs it", (), "What takes its flow, by solving again.", "one_item"),
    Action("cure_it", "Ask", "What would &cure it", (), "Changes that bring what it lacks.", "one_item"),
    Action("left_for_more", "Ask", "What it has &left", (), "For one more circuit, by solving.", "one_item"),
    Action("if_it_fails", "Ask", "What if it f&ails", (), "Who goes cold, how far, how soon.", "one_item"),
    Action("guess_matters", "Ask", "Does its &guess matter", (), "Which guess to measure first.", "one_item"),
    Action("pane_punch", "Pages", "&Punch list", ("Ctrl+Alt+F",), "What to stop for, to mend, to consider."),
    Action(
        "pane_no_flow", "Pages", "N&o flow", ("Ctrl+Alt+D",), "Where water stands, and where to flush it."
    ),
    Action("pane_joint", "Pages", "Next &joint", ("Ctrl+Alt+J",), "What to settle before it is made."),
    Action(
        "pane_calls", "Pages", "&Call sheet", ("Ctrl+Alt+C",), "Which call runs what, and who goes short."
    ),
    Action("pane_time", "Pages", "&Time", ("Ctrl+Alt+I",), "A day or more, and what happened when."),
    Action("pane_rooms", "Pages", "&Rooms", ("Ctrl+Alt+R",), "What each room gets in every case."),
    Action("pane_sizes", "Pages", "Si&zes", ("Ctrl+Alt+Z",), "What size, and why."),
    Action(
        "pane_size_all", "Pages", "&Size all", ("Ctrl+Alt+A",), "Drawn against proposed; take many at once."
    ),
    Action("pane_readings", "Pages", "R&eadings", ("Ctrl+Alt+E",), "What the gauges said, and what to turn."),
    Action("pane_remarks", "Pages", "Remar&ks", ("Ctrl+Alt+Q",), "What reviewers wrote, and the answers."),
    Action("pane_compare", "Pages", "Co&mpare", (), "Now beside another moment, or another file."),
    Action("pane_logbook", "Pages", "&Logbook", ("Ctrl+Alt+L",), "Decisions and their reasons."),
    Action(
        "pane_questions",
        "Pages",
        "&Questions",
        ("Ctrl+Alt+Y",),
        "Who robs whom, what would cure it, what fails.",
    ),
    Action(
        "first_plant", "Insert", "&Guided first plant", ("Ctrl+Alt+V",), "Eight steps from your own numbers."
    ),
    Action(
        "second_circulator",
        "Insert",
        "A second &circulator…",
        ("Ctrl+Alt+B",),
        "For a circuit that is short, or more flow at what is selected.",
        "drawn",
    ),
    Action(
        "pane_second", "Pages", "Secon&d circulator", ("Ctrl+Alt+H",), "Where one would help, if anywhere."
    ),
    Action(
        "pane_curves", "Pages", "C&urves", ("Ctrl+Alt+U",), "Pump and system curves; a second circulator."
    ),
    Action("pane_working", "Pages", "&Working", ("Ctrl+Alt+W",), "How a number came about."),
    Action("pane_shut_off", "Pages", "S&hut-off", ("Ctrl+Alt+T",), "How an item is taken out of service."),
    Action("pull_out", "Pages", "I&n its own window", ("Ctrl+Alt+0",), "The page under the board, or back."),
    Action("next_pane", "Pages", "Next p&ane", ("F6",), "Shelf, cases, board, notes, particulars."),
    Action("previous_pane", "Pages", "Pre&vious pane", ("Shift+F6",), "In reverse order."),
    Action(
        "everything",
        "Help",
        "&Commands, tags, notes…",
        ("F3",),
        "A few letters, Return: do it or go there.",
    ),
    Action("shortcuts", "Help", "&Keys", ("F1",), "Every key of the window."),
    Action("about", "Help", "&About Wetside", (), "Versions, licenses, and where the log lies."),
    Action("how_counted", "Help", "How &Wetside counts", ("Shift+F1",), "How the figures are reached."),
)

MENUS = ("Plant", "Edit", "Insert", "Arrange", "Case", "View", "Ask", "Pages", "Help")
MENU_WORDS = {"Ask": "As&k", "Pages": "Pa&ges"}
"""Titles whose letter to press is not the first."""

AT_SELECTED = (
    "pull",
    "bend",
    "turn",
    "mirror",
    "turn_round",
    "copy",
    "duplicate",
    "keep_assembly",
    "size_it",
    "why",
    "second_circulator",
    "who_robs",
    "cure_it",
    "left_for_more",
    "if_it_fails",
    "guess_matters",
    "shut_off",
    "delete",
)
NEW_CASES = (
    "case_design_night",
    "case_mild_day",
    "case_summer",
    "case_snowfall",
    "case_morning_showers",
    "case_power_cut",
    "add_case",
)
"""What the button at the end of the cases offers."""

AT_BARE_BOARD = ("insert", "write_text", "paste", "fit")
"""What the right button offers."""

BREAK_BEFORE = frozenset(
    {
        "save",
        "print_sheet",
        "close",
        "cut",
        "turn",
        "delete",
        "select_all",
        "write_text",
        "spread_across",
        "stage_existing",
        "stages_shown",
        "find",
        "add_case",
        "show_tube",
        "us",
        "look_system",
        "shelf_shown",
        "next_pane",
    }
)
"""Actions with a line above them in their menu."""

BOARD_KEYS: tuple[tuple[str, str], ...] = (
    (
        "Arrow keys",
        "Move what is selected by one grid step; with Shift by five. J joins it to what it then lies on. "
        "A pipe's longest run moves aside. Nothing selected: move the sheet.",
    ),
    (
        "Ctrl+Arrow keys",
        "Go along the drawing: from an item to the pipe that leaves it that way, and on to what it ends at. "
        "With Shift what was selected stays so. With a pipe in hand: to the next free port or pipe that way.",
    ),
    (
        "I, a row",
        "boiler > circulator > check valve > floor circuit > B-1 lays new items in a row and pipes each to "
        "the next. A word is a new item, a tag one that is there, a tag with a port that port: T-1 bottom. "
        "The first tag is where the row begins, the last where it ends. What has no free port is teed into.",
    ),
    ("0 to 9", "Type what is not typed yet of what is selected, else its first value, where it stands."),
    ("Tab, Shift+Tab", "Select the next or previous item; after the last one leave the board."),
    ("Return", "Place the symbol in hand; connect the pipe in hand; else go to the particulars."),
    ("P again", "While pulling a pipe: start from the item's next port."),
    ("Tab", "While pulling a pipe: go to the next free port, nearest first."),
    ("Ctrl and pull", "Pull a pipe out of a joint, an item or a pipe, or the leader out of a text."),
    ("Alt and drag", "Move by the grid alone, not into line with other ports."),
    (
        "Double click",
        "Type the length, size, set temperature or tag where it stands; F2 by key. Return: on to what is not "
        "typed yet. Tab: the same of the next; Up and Down: another value of this one.",
    ),
    ("Shift and click", "Add to what is selected, or take out of it. Pulling over bare board selects too."),
    ("Esc", "Let go of what is in hand; else select nothing."),
    ("Wheel", "Zoom at the pointer; with Shift move sideways. Middle button or Space drags the sheet."),
)
