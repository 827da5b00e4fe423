"""Modules import only from the rooms before them, and the two lists of components agree."""

import ast
import runpy
from pathlib import Path

from formulate.components import COMPONENT_KEYS

ROOT = Path(__file__).parents[2]
ORDER = (
    "errors polynomials cells components tables versions linear ice solutes freezing thermal "
    "composition instruments readings lots stock infusion steps heat lethality cooling_rules "
    "cautions properties serving recipe fields recipe_file menu_file mixture preparation density "
    "parts nutrients nutrition rounding declaration fruit name_rules name_quantities naming "
    "allergens ingredient_list label pack_models pack uncertainty textbook risks blend usual_use "
    "programme wording vertex solve solve_whole optimum weigh result robust certificate explain "
    "proposals counting outlook answer check balance ranges ladder correct infer frontier base "
    "order together from_lots export rebalance measures vary sweep table_files sweep_files "
    "explore cluster convergence feasible feasible_mixes notebook_tables notebook "
    "notebook_recipes notebook_lots notebook_batches notebook_contents notebook_files learning "
    "as_learned shelf week evidence conduction cooling vessel report_cold report_time "
    "report_safety report_names report_label report_argue report_notebook report_explore report "
    "report_order report_week page_html sheet sheet_html sheet_pdf week_html catalogue examples "
    "late_parser cli_input cli_argue cli_kitchen cli_week cli_lots cli_notebook cli_explore cli "
    "__main__ __init__"
).split()


def imported(path):
    """Modules of the package that a module imports, at its top or inside functions."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {
        node.module.split(".")[1]
        for node in nodes
        if node.module and node.module.startswith("formulate.")
    }


def test_every_module_imports_only_from_earlier_rooms():
    modules = {path.stem: path for path in (ROOT / "formulate").glob("*.py")}
    assert set(modules) == set(ORDER)
    wrong = [
        (name, other)
        for name, path in modules.items()
        for other in imported(path)
        if ORDER.index(other) >= ORDER.index(name)
    ]
    assert wrong == []


def test_only_linear_and_conduction_import_scipy():
    users = [
        path.stem
        for path in (ROOT / "formulate").glob("*.py")
        if "scipy" in {name.split(".")[0] for name in all_imports(path)}
    ]
    assert sorted(users) == ["conduction", "linear"]


def all_imports(path):
    """Names of all modules that a module imports."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_the_table_builder_knows_the_same_components():
    path = ROOT / "reference-data" / "build" / "build_table.py"
    builder = runpy.run_path(str(path))
    assert tuple(builder["COMPONENTS"]) == COMPONENT_KEYS
