"""Equal tables agree whatever their columns were called; a changed digit does not."""

from dev.compare_results import compare

OLD = "member,world,unserved_kwh,loss_of_load_hours\n0,0,1.5,3\n"
NEW = "member,parameter_draw,eue_kwh,lolh\n0,0,1.5,3\n"


def test_renamed_columns_agree_and_changed_numbers_do_not(tmp_path):
    for folder, text in (("old", OLD), ("new", NEW), ("other", NEW.replace("1.5", "1.6"))):
        (tmp_path / folder / "hut").mkdir(parents=True)
        (tmp_path / folder / "hut" / "members.csv").write_text(text)
    old, tables = tmp_path / "old", ("members.csv",)
    assert [row[-1] for row in compare(old, tmp_path / "new", tables)] == [True]
    assert [row[-1] for row in compare(old, tmp_path / "other", tables)] == [False]
    assert [row[-1] for row in compare(old, tmp_path / "missing", tables)] == [False]
