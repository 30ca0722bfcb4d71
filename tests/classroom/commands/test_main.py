"""The command line: what it prints, what it refuses, and what it does not load."""
from __future__ import annotations

import json
import shlex
import subprocess
import sys
from types import SimpleNamespace

import pytest

from acidbase_lib.caution import CAUTION
from acidbase_lib.classroom.commands import main as command


@pytest.fixture
def acidbase(capsys):
    def run(*words: str) -> tuple[int, str, str]:
        code = command.main(words)
        told = capsys.readouterr()
        return code, told.out, told.err
    return run


def refused(told: tuple[int, str, str]) -> str:
    """Bad input: code 2, nothing on stdout, one line on stderr."""
    code, out, err = told
    assert code == 2
    assert out == ""
    assert len(err.splitlines()) == 1
    assert "Traceback" not in err
    return err


def test_a_reading_names_label_rule_steps_and_caution(acidbase):
    code, out, err = acidbase("read", "7.28", "66", "30")
    assert (code, err) == (0, "")
    assert "partially compensated respiratory acidosis" in out
    assert "cannot tell acute from chronic" in out
    assert "Direction rule  respiratory acidosis" in out
    assert "Is the pH low, normal or high?" in out
    assert CAUTION in out


@pytest.mark.parametrize("gas", [
    ("7.28", "66", "30"), ("7.31", "28", "14", "--sodium", "138", "--chloride", "100",
                           "--albumin", "32", "--pao2", "58", "--fio2", "0.21", "--age", "70"),
    ("7.52", "48", "30"), ("7.40", "40"), ("7.55", "20", "17", "--lactate", "4.4"),
    ("7.31", "75", "37", "--specimen", "venous"), ("7.28", "8.8", "30", "--kpa", "--pao2", "7.7"),
    ("7.36", "40", "22", "--pregnant", "w34", "--altitude", "1500"), ("7.3", "53", "--age", "2h"),
    ("7.21", "25", "10", "--sodium", "135", "--chloride", "110"),
    ("7.40", "40", "--pao2", "95", "--sao2", "97", "--cohb", "32", "--methb", "1", "--glucose",
     "2.7", "--hemoglobin", "45", "--ionized-calcium", "0.7", "--potassium", "6.1"),
], ids=" ".join)
def test_a_reading_fits_80_columns(acidbase, gas):
    assert all(len(line) <= 80 for line in acidbase("read", *gas)[1].splitlines())


def test_kpa_is_echoed_beside_mmhg(acidbase):
    out = acidbase("read", "7.28", "8.8", "30", "--kpa", "--pao2", "7.7")[1]
    assert "PaCO2 8.8 kPa (66 mmHg)" in out
    assert "PaO2 7.7 kPa (57.8 mmHg)" in out
    told = acidbase("read", "7.28", "8.8", "30", "--kpa", "--json")[1]
    assert json.loads(told)["pressures_kpa"]["paco2"] == 8.8


def test_the_history_moves_the_ranges(acidbase):
    assert "Nursing label   normal" in acidbase("read", "7.36", "40", "22")[1]
    out = acidbase("read", "7.36", "40", "22", "--pregnant", "38", "--age", "31")[1]
    assert "Read for        the third trimester of pregnancy" in out
    assert "Nursing label   uncompensated respiratory acidosis" in out
    assert "Nursing label   normal" in acidbase("read", "7.42", "31", "20", "--altitude", "2800")[1]
    out = acidbase("read", "7.28", "53", "24", "--age", "6h", "--specimen", "capillary")[1]
    assert "Read for        nobody: no range of this kit fits" in out
    assert "this gas is not judged" in " ".join(out.split())


def test_what_was_not_asked_is_said_once(acidbase):
    out = acidbase("read", "7.28", "66", "30")[1]
    assert "Read for        an adult, not pregnant, who lives below 1,000 m" in out
    for option in ("--age", "--pregnant", "--altitude", "--fio2"):
        assert out.count(option) == 1
    asked = acidbase("read", "7.28", "66", "30", "--age", "70", "--altitude", "10", "--fio2",
                     "0.21")[1]
    assert "Not asked" not in asked
    assert "Not asked" not in acidbase("read", "7.44", "30", "20", "--age", "30", "--pregnant",
                                       "no", "--altitude", "0", "--fio2", "0.21")[1]


def test_what_is_possible_stands_in_the_summary(acidbase):
    """Haber 1991, example 3."""
    out = acidbase("read", "7.50", "20", "15", "--sodium", "145", "--chloride", "100")[1]
    assert "Possible        metabolic alkalosis" in out


def test_a_venous_sample_is_not_called_quiet(acidbase):
    out = " ".join(acidbase("read", "7.31", "75", "37", "--specimen", "venous")[1].split())
    assert ("likely respiratory acidosis (venous sample; in shock or cardiac arrest it cannot "
            "tell: an arterial gas settles it)") in out
    assert "No value here is critical" not in out


def test_the_rest_of_a_report_is_taken_and_judged(acidbase):
    _, out, _ = acidbase("read", "7.26", "60", "--asthma", "--pao2", "95", "--sao2", "70", "--cohb",
                         "29,5", "--methb", "1", "--glucose", "2.7", "--hemoglobin", "45",
                         "--ionized-calcium", "0.7")
    words = " ".join(out.split())
    for told in ("Carboxyhemoglobin 29.5 % is above the critical limit 10 %", "Glucose 2.7 mmol/L",
                 "Hemoglobin 45 g/L", "Ionized calcium 0.7 mmol/L", "near-fatal",
                 "At once: a critical value"):
        assert told in words


def test_bicarbonate_may_be_left_out(acidbase):
    assert "(worked out)" in acidbase("read", "7.28", "66")[1]


def test_the_rule_says_where_it_is_silent(acidbase):
    assert "Direction rule  silent" in acidbase("read", "7.40", "40", "24")[1]


def test_numbers_that_do_not_fit_are_named_with_the_likely_slip(acidbase):
    out = acidbase("read", "7.28", "8.8", "30")[1]
    assert "cannot come from one sample" in out
    assert "Is PaCO2 in kPa? Then add --kpa." in " ".join(out.split())


def test_json_holds_everything(acidbase):
    told = json.loads(acidbase("read", "7.28", "66", "30", "--json")[1])
    assert told["label"] == "partially compensated respiratory acidosis"
    assert told["direction_rule"]["disorder"] == "respiratory acidosis"
    assert told["steps"][0]["question"]
    assert "teaching" in told["caution"]


def test_a_schools_settings_are_read(acidbase, tmp_path):
    bad = tmp_path / "school.toml"
    bad.write_text("nonsense = [")
    assert str(bad) in refused(acidbase("read", "7.28", "66", "--settings", str(bad)))
    assert "there is no settings file" in refused(
        acidbase("read", "7.28", "66", "--settings", str(tmp_path / "none.toml")))


@pytest.mark.parametrize(("words", "told"), [
    (("read", "7.28", "5.3"), "kPa"),
    (("read", "72.8", "66"), "pH = 72.8"),
    (("read", "7.28", "sixty"), "'sixty' is not a number"),
    (("read", "nan", "40"), "pH"),
    (("read", "7.28", "inf"), "PaCO2"),
    (("read", "7.28", "66", "1e9"), "bicarbonate"),
    (("read", "7.28"), "PaCO2"),
    (("read",), "pH"),
    (("read", "7.28", "66", "30", "--fio2", "40"), "FiO2"),
    (("read", "7.28", "66", "30", "--oxygen", "2"), "--oxygen"),
    (("read", "7.4", "40", "24", "--age", "-1"), "age = -1 is outside 0-120 years"),
    (("read", "7.4", "40", "24", "--age", "old"), "age 'old' is not understood"),
    (("read", "7.4", "40", "24", "--altitude", "high"), "altitude 'high' is not understood"),
    (("read", "7.4", "40", "24", "--pregnant", "60"), "week of pregnancy = 60 weeks is outside"),
    (("read", "7.4", "40", "24", "--pregnant", "34", "--age", "3d"), "does not go with a preg"),
    (("read", "7.4", "40", "--cohb", "120"), "carboxyhemoglobin = 120 % is outside 0-90 %"),
    (("read", "7.4", "40", "--hemoglobin", "14"), "is in g/dL"),
    (("read", "7.4", "40", "--glucose", "180"), "a value in mg/dL?"),
    (("read", "7.4", "40", "--ionized-calcium", "4.8"), "mg/dL"),
    (("raed", "7.28"), "Did you mean `acidbase read`?"),
    (("--nonsense",), "the commands are"),
    (("mark", "nowhere.ipynb"), "nowhere.ipynb"),
    (("study", "99_nothing", "--no-open"), "99_nothing"),
    (("demo", "--learners", "0"), "--learners 0 is outside 3 to 1000"),
    (("demo", "--learners", "many"), "many"),
], ids=lambda x: x if isinstance(x, str) else " ".join(x))
def test_bad_input_is_one_sentence_and_code_2(acidbase, words, told, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    message = refused(acidbase(*words)) if words[0] != "demo" else acidbase(*words)[2]
    assert told in message
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("installed_from", "line"), [
    (None, 'pip install "acidbase-lib[class]"'),
    ('{"url": "file:///home/ann/kit", "dir_info": {}}',
     'pip install "acidbase-lib[class] @ file:///home/ann/kit"'),
    ('{"url": "file:///tmp/kit-1.whl", "archive_info": {}}',
     'pip install "acidbase-lib[class] @ file:///tmp/kit-1.whl"'),
])
def test_a_missing_extra_is_told_with_a_line_that_installs_it_from_where_the_kit_came(
        acidbase, monkeypatch, installed_from, line):
    def missing(_):
        raise ModuleNotFoundError("No module named 'nbgrader'", name="nbgrader.api")
    monkeypatch.setattr(command, "import_module", missing)
    monkeypatch.setattr("importlib.metadata.distribution", lambda _: SimpleNamespace(
        read_text=lambda _: installed_from))
    assert line in refused(acidbase("demo"))


def test_a_bug_of_ours_is_not_passed_off_as_bad_input(acidbase, monkeypatch):
    def bug(_):
        raise ModuleNotFoundError("No module named 'acidbase_lib.gone'", name="acidbase_lib.gone")
    monkeypatch.setattr(command, "import_module", bug)
    with pytest.raises(ModuleNotFoundError):
        command.main(["read"])


def test_alone_it_lists_its_commands(acidbase):
    code, out, _ = acidbase()
    assert code == 0
    assert all(f"acidbase {name}" in out for name in command.COMMANDS)
    assert CAUTION in out


@pytest.mark.parametrize("name", command.COMMANDS)
def test_every_command_shows_its_help(name, capsys):
    with pytest.raises(SystemExit) as stop:
        command.main([name, "--help"])
    assert stop.value.code == 0
    told = capsys.readouterr().out
    assert CAUTION in told
    assert all(len(line) <= 80 for line in told.splitlines())


def test_reading_loads_nothing_heavy():
    code = ("import sys; from acidbase_lib.classroom.commands.main import main; "
            "main(['read', '7.28', '66', '30']); "
            "print(sorted({m.split('.')[0] for m in sys.modules} & {'numpy', 'pandas', 'nbgrader',"
            " 'matplotlib', 'ipywidgets', 'IPython', 'jinja2', 'rich', 'nbformat'}))")
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.splitlines()[-1] == "[]"


def test_a_closed_pipe_is_no_error():
    """`acidbase read ... | head -1` ends quietly."""
    done = subprocess.run(
        f"{shlex.quote(sys.executable)} -m acidbase_lib.classroom.commands.main read 7.28 66 30"
        " | head -1",
        shell=True, capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_what_cannot_wait_is_said_before_the_label(capsys: pytest.CaptureFixture[str]) -> None:
    """A saturation of 68 % beside a PaO2 of 92 mmHg: carbon monoxide may be killing somebody."""
    assert command.main(["read", "7.42", "34", "21.5", "--pao2", "92", "--sao2", "68",
                         "--fio2", "0.21"]) == 0
    said = capsys.readouterr().out
    assert said.index("How soon        At once: a critical value.") < said.index("Nursing label")
    assert command.main(["read", "7.40", "40", "24"]) == 0
    assert "How soon  " not in capsys.readouterr().out
