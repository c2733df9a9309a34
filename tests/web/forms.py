# SPDX-License-Identifier: MIT
"""The forms of a page as a browser without scripts reads and sends them, by python's own HTML parser."""
import html.parser
import re
import urllib.parse

BOXES = ("checkbox", "radio")


class Control:
    """One control of a form: its name, what kind it is, what it would send."""

    def __init__(self, name, kind, value, ticked=False):
        self.name, self.kind, self.value, self.ticked, self.options = name, kind, value, ticked, []

    @property
    def sends(self):
        return bool(self.name) and (self.kind not in BOXES or self.ticked) and self.kind not in ("submit", "button", "file")


class Form:
    def __init__(self, attributes):
        self.action, self.method = attributes.get("action", ""), attributes.get("method", "get").lower()
        self.files = attributes.get("enctype") == "multipart/form-data"
        self.keeps = "data-keep" in attributes
        self.controls = []

    def pairs(self, **changed):
        """What is sent, in the page's order, with the fields CHANGED; the first button's name goes last."""
        sent = [(one.name, changed.get(one.name, one.value)) for one in self.controls if one.sends]
        buttons = [(one.name, one.value) for one in self.controls if one.kind == "submit" and one.name]
        return sent + buttons[:1]

    def value(self, name):
        """What NAME would send, of a box the last; None when it sends nothing."""
        found = [one.value for one in self.controls if one.sends and one.name == name]
        return found[-1] if found else None


class _Reader(html.parser.HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.forms, self.form, self.area, self.select, self.option = [], None, None, None, None

    def handle_starttag(self, tag, attrs):
        of = {key: value or "" for key, value in attrs}
        if tag == "form":
            self.form = Form(of)
            self.forms.append(self.form)
        elif self.form is None or "disabled" in of:
            return
        elif tag == "input":
            kind = of.get("type", "text")
            value = of.get("value", "on" if kind in BOXES else "")
            self.form.controls.append(Control(of.get("name", ""), kind, value, "checked" in of))
        elif tag == "button" and of.get("type", "submit") == "submit":
            self.form.controls.append(Control(of.get("name", ""), "submit", of.get("value", "")))
        elif tag == "textarea":
            self.area = Control(of.get("name", ""), "textarea", "")
            self.form.controls.append(self.area)
        elif tag == "select":
            self.select = Control(of.get("name", ""), "select", None)
            self.form.controls.append(self.select)
        elif tag == "option" and self.select:
            value = of.get("value", "")
            self.select.options.append(value)
            if "selected" in of or self.select.value is None:
                self.select.value = value

    def handle_data(self, data):
        if self.area:
            self.area.value += data

    def handle_endtag(self, tag):
        if tag == "form":
            self.form = None
        elif tag == "textarea" and self.area:
            # A line end right after the tag is the markup's own; what is sent has the wire's line ends.
            self.area.value = re.sub(r"\r\n?|\n", "\r\n", re.sub(r"^\r?\n", "", self.area.value))
            self.area = None
        elif tag == "select" and self.select:
            self.select.value = self.select.value or ""
            self.select = None


def forms_of(page):
    reader = _Reader()
    reader.feed(page)
    return reader.forms


def encoded(pairs):
    return urllib.parse.urlencode(pairs).encode()


def in_parts(pairs, mark, files=()):
    """The body of a form with files, (field, file name, bytes)."""
    body = b"".join(f'--{mark}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode("utf-8", "surrogateescape")
                    for name, value in pairs)
    for field, name, content in files:
        body += (f'--{mark}\r\nContent-Disposition: form-data; name="{field}"; filename="{name}"\r\n'
                 "Content-Type: application/octet-stream\r\n\r\n").encode() + content + b"\r\n"
    return body + f"--{mark}--\r\n".encode()


def all_pages(device, most_of_a_shape=2):
    """(path, page) of what links lead to from the board, a few of each shape."""
    waiting, seen = ["/"], {}
    while waiting:
        path = waiting.pop(0)
        shape = re.sub(r"\d+", "N", path.partition("?")[0]) + "?" + "&".join(sorted(re.findall(r"[?&](at=[a-z-]+|\w+)", path)))
        if seen.setdefault(shape, []).count(path) or len(seen[shape]) >= most_of_a_shape:
            continue
        seen[shape].append(path)
        answer = device.get(path)
        if answer.status == 200 and "text/html" in (answer.headers.get("Content-Type") or ""):
            yield path, answer.text
            waiting += [html.unescape(link) for link in re.findall(r'<a [^>]*href="(/[^"#]*)', answer.text)]
