"""What axe finds wrong with a page: its violations, and how many rules it passes.

Every rule looks at every kind of element. Of rows, items and blocks that are alike but for their words three of a page
stay, and the first of each table and list; and the lists that nobody reads are left out, of each element that passes
and of a selector for each: on a page of many rows these take most of the time.
"""

from __future__ import annotations

from axe_core_python.sync_playwright import Axe
from playwright.sync_api import Page

ASKED = """options => axe.run(document, options).then(found => [
  found.violations.map(rule => `${rule.id}: ${rule.nodes[0].html.slice(0, 120)}`), found.passes.length])"""

ALIKE = """() => {
  const often = {};
  const kind = part => [part.tagName, part.className, part.getAttribute('role'), part.getAttribute('style'),
    Boolean(part.textContent.trim()), part.children.length && [...part.children].map(kind)].join();
  const thin = part => {
    if (!part.isConnected) return;
    const alike = kind(part);
    often[alike] = (often[alike] ?? 0) + 1;
    if (often[alike] > 3 && part.previousElementSibling?.tagName === part.tagName) part.remove();
  };
  document.querySelectorAll('tbody, tbody tr, li').forEach(thin);
  document.querySelectorAll('div, details').forEach(thin);  // most hold lists, which are alike by now
}"""


def violations(view: Page, *rules: str, contrast: bool = True) -> list[str]:
    """Each rule that is broken, with the first element that breaks it; a page at which axe hardly looks fails.

    Without `contrast`, half the time: for a page whose colours axe has seen at another width.
    """
    view.evaluate(ALIKE)
    view.evaluate(Axe().axe_script)
    of_rules = {"runOnly": list(rules)} if rules else {}
    left_out = {} if contrast else {"rules": {"color-contrast": {"enabled": False}}}
    broken, passed = view.evaluate(ASKED, {"resultTypes": ["violations"], "selectors": False, **of_rules, **left_out})
    # A rule may hold in one place and be broken in another.
    assert passed > 20 or 0 < max(passed, len(broken)) <= len(rules)
    return list(broken)
