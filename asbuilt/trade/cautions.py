"""The customary cautions of the trade, by hazard.

Common practice, as found in owners' and contractors' published guidance; asbestos after OSHA's
29 CFR 1926.1101 (presumed present until shown otherwise), laser light after IEC 60825-2. They
are words of caution, not instructions: local codes, the authority having jurisdiction and
competent or licensed people decide.
"""

from typing import Final

CUSTOMARY_CAUTIONS: Final[dict[str, str]] = {
    "asbestos": (
        "Ask for the asbestos register before lifting a ceiling tile or drilling. "
        "“Not known” is not “none”; a building's age proves nothing."
    ),
    "rated barrier": (
        "Rated walls and floors are opened and sealed again by people trained for that system."
    ),
    "mains power": (
        "Breaker numbers are information for an electrician, not leave to switch. "
        "Only licensed people work on mains."
    ),
    "laser light": "Never look into a fibre or a fibre port; take it for live.",
    "powered bundles": "Bundles that carry power over Ethernet get warm; keep them as recorded.",
    "work at height": "Ladders and ceilings: work as your employer's rules for heights say.",
    "batteries": "UPS batteries stay energised when unplugged and are heavy.",
    "lone work": "Say where you are and when you'll be back.",
    "confined space": "Enter only under the site's permit.",
    "other trade's system": "Fire alarm, lift and security gear is touched by its keepers only.",
    "other": "Ask the site before you start.",
}

DISCLAIMER: Final = (
    "This is a record of what was seen or reported on the dates shown. It is no design, "
    "inspection, approval or instruction. Verify on site; competent or licensed people, local "
    "codes and the authority having jurisdiction decide."
)

EMERGENCY_CALL_CAUTION: Final = "Moving a phone can break the location its emergency calls give."
