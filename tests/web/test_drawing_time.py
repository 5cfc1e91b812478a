"""How long a person takes to draw a yard, by what is pressed and clicked."""

from web_drawing import begin, document_of

# Keystroke-level model: Card, Moran and Newell 1980, Communications of the ACM 23(7), 396-410, table 1; from memory.
KEY, POINT, CLICK, HOME, THINK = 0.28, 1.10, 0.20, 0.40, 1.35  # [s] 0.28 is an average typist


class Hand:
    """Does what a person does, and counts it."""

    def __init__(self, page):
        self.page = page
        self.keys = self.clicks = self.thoughts = 0

    def press(self, key):
        self.keys += 1
        self.page.keyboard.press(key)

    def type(self, text):
        self.keys += len(text)
        self.page.keyboard.type(text)

    def click(self, target, **options):
        self.clicks += 1
        target.click(**options)

    def corner(self, length, arrow):
        self.thoughts += 1
        self.type(length)
        self.press(arrow)

    @property
    def seconds(self):
        return self.keys * KEY + self.clicks * (POINT + CLICK + 2 * HOME) + self.thoughts * THINK


LAWN = [("70", "ArrowRight"), ("20", "ArrowUp"), ("10", "ArrowRight"), ("40", "ArrowUp"), ("15", "ArrowLeft"),
        ("12 6", "ArrowUp"), ("35", "ArrowLeft"), ("8", "ArrowDown"), ("20", "ArrowLeft"), ("24 6", "ArrowDown"),
        ("10", "ArrowLeft")]  # fmt: skip

HOUSE = [("30", "ArrowRight"), ("25 l", "Enter"), ("30 l", "Enter")]  # two walls by turns, as one walks round it


def test_a_lawn_of_twelve_corners_with_a_house_takes_under_three_minutes(desk, ask, keep_picture):
    begin(desk, "Twelve corners")
    hand = Hand(desk)
    hand.click(desk.get_by_role("button", name="Draw a lawn"))
    for text, key in (("0", "Tab"), ("0", "Enter")):
        hand.type(text)
        hand.press(key)
    for length, arrow in LAWN:
        hand.corner(length, arrow)
    keep_picture(desk, "drawing")
    hand.press("Enter")
    hand.click(desk.get_by_role("toolbar").get_by_role("button", name="building", exact=True))
    for text, key in (("25", "Tab"), ("20", "Enter")):
        hand.type(text)
        hand.press(key)
    for length, arrow in HOUSE:
        hand.corner(length, arrow)
    hand.press("Enter")
    document = document_of(desk, ask)
    keep_picture(desk)
    lawn, house = document["areas"]
    print(f"{hand.keys} keys, {hand.clicks} clicks, {hand.thoughts} thoughts: {hand.seconds:.0f} s for a person")
    assert len(lawn["outline"]) == 12
    assert lawn["outline"][5:7] == [[65, 60], [65, 72.5]]
    assert house["outline"] == [[25, 20], [55, 20], [55, 45], [25, 45]]
    assert hand.seconds < 180
