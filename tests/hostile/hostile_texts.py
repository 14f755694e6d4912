"""Texts that mean harm to something that shows, stores or hands on text.

Each is what an attack of its kind begins with; the kinds are those of the OWASP Web Security
Testing Guide (input validation), of RFC 4180 and spreadsheets (formulas), of RFC 5545 (line ends
in a calendar) and of ECMA-48 (control sequences of a terminal).
"""

SENTINEL = "__turfmap_was_here"
RUNS = f"window.{SENTINEL}=1"

HOSTILE_TEXTS: dict[str, str] = {
    "script": f"<script>{RUNS}</script>",
    "end of script": f"</script><script>{RUNS}</script>",
    "end of style": f"</style></textarea></title><img src=x onerror={RUNS}>",
    "attribute": f'" onmouseover="{RUNS}" autofocus onfocus=\'{RUNS}\' x="',
    "svg": f"<svg/onload={RUNS}><animate onbegin={RUNS} attributeName=x>",
    "address": f"javascript:{RUNS}//",
    "comment": f"--><script>{RUNS}</script><!--",
    "end of data": f"]]><script>{RUNS}</script><![CDATA[",
    "script in comment": f"<!--<script>{RUNS}",
    "braces": "{{7*7}}${7*7}#{7*7}<%= 7*7 %>",
    "template": "{% for x in ().__class__.__base__.__subclasses__() %}{{x}}{% endfor %}",
    "markdown": f"[a](javascript:{RUNS}) ![b](http://example.invalid/x.png) `c` **d** # e",
    "formula": "=cmd|'/C calc'!A0",
    "formula plus": "+1+cmd|'/C calc'!A0",
    "formula minus": "-1-2",
    "formula at": "@SUM(1+1)*cmd|'/C calc'!A0",
    "formula tab": "\t=1+1",
    "formula return": "\r=1+1",
    "formula wide": "\uff1d1+1",
    "calendar": "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:y\r\nEND:VEVENT\r\n",
    "calendar text": "a;b,c\\n:d\nBEGIN:VALARM",
    "header": "x\r\nSet-Cookie: a=b\r\n\r\n<html>",
    "bidi": "safe\u202etxt.exe\u2066\u2069\u202c",
    "escape": "\x1b[2J\x1b]0;owned\x07\x1b[31mred\x9b1m",
    "bell and back": "a\x07b\x08\x08\x7f",
    "quotes": "'; DROP TABLE zone; --\"`\\",
    "entities": "&lt;&amp;&#60;&xxe;%26<!ENTITY x SYSTEM 'file:///etc/passwd'>",
    "dots": "../../../../tmp/turfmap-was-here",
    "backslashes": "..\\..\\windows\\system32",
    "device": "CON",
    "device with ending": "nul.txt ",
    "hidden": ".htaccess",
    "long name": "x" * 400,
    "emoji": "🌱" * 40 + "e\u0301\u200d",
    "not a letter": "a\ufeff\ufffe\uffff\u2028\u2029\u0085",
    "markup of a terminal": "[bold red]x[/bold red][link=file:///etc/passwd]y[/link]",
    "percent": "%s%n%x{0}{0.__class__}",
    "json": '","x":{"__proto__":{"a":1}}}',
}
# What no file of ours can hold: refused where it comes in.
NEVER_KEPT: dict[str, str] = {
    "nothing": "a\x00b",
    "half a pair": "a\ud800b",
    "very long": "y" * 1_000_000,
}
NUMBERS = (
    *("NaN", "nan", "Infinity", "-Infinity", "1e400", "-1e400", "1e308", "-0", "0x10", "1_000"),
    *("9" * 400, "1e-400", "٣", "1,5", "--1", "", "null", "[]", '"1"', "180", "-180.0000001"),
    *("90", "-90", "540", "181", "1e15", "2147483648", "-9223372036854775809", "true"),
)
