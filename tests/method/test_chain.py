"""The budget of the whole chain, against the Guide's own worked examples."""

import numpy as np
import pytest

from simulate.method.uncertainty_budget import Link, combine_chain, half_width_sd


def test_the_guides_end_gauge_comes_to_32_nm_with_16_degrees_of_freedom():
    # JCGM 100:2008, H.1 and table H.1 (from memory): 25, 9.7, 2.9 and 16.6 nm with 18, 25.6, 50 and 2 degrees of
    # freedom; combined 32 nm, effective degrees of freedom 16 after cutting down, 93 nm for 99 %.
    chain = combine_chain(
        [
            Link("standard", 0.025, freedom=18),
            Link("comparison", 0.0097, freedom=25.6),
            Link("expansion", 0.0029, freedom=50),
            Link("temperature", 0.0166, freedom=2),
        ],
        coverage=0.99,
    )
    assert round(float(chain.combined_um) * 1000) == 32
    assert int(chain.freedom) == 16
    assert round(float(chain.factor), 2) == 2.92
    assert round(0.032 * float(chain.factor) * 1000) == 93


def test_the_guides_comparison_of_gauges_combines_three_links_to_9_7_nm():
    # JCGM 100:2008, H.1.3.2 (from memory): 5.8, 3.9 and 6.7 nm with 24, 5 and 8 degrees of freedom.
    chain = combine_chain(
        [Link("repeats", 5.8, freedom=24), Link("random", 3.9, freedom=5), Link("systematic", 6.7, freedom=8)]
    )
    assert round(float(chain.combined_um), 1) == 9.7
    assert round(float(chain.freedom), 1) == pytest.approx(25.6, abs=0.3)


def test_the_guides_welch_satterthwaite_example_has_19_degrees_of_freedom():
    # JCGM 100:2008, G.4.1 (from memory): 0.25, 0.57 and 0.82 % from 10, 5 and 15 readings give 1.03 % and 19.0.
    chain = combine_chain([Link("a", 0.25, freedom=9), Link("b", 0.57, freedom=4), Link("c", 0.82, freedom=14)])
    assert round(float(chain.combined_um), 2) == 1.03
    assert round(float(chain.freedom), 1) == 19.0


def test_a_monte_carlo_of_the_links_has_the_combined_standard_deviation():
    links = [Link("a", 2.0), Link("heat", 0.3, um_per_unit=-8.0), Link("c", 0.5)]
    rng = np.random.default_rng(5)
    drawn = sum(rng.normal(0, link.sd, 200_000) * link.um_per_unit for link in links)
    chain = combine_chain(links)
    assert drawn.std() == pytest.approx(float(chain.combined_um), rel=0.01)
    assert np.mean(np.abs(drawn) < chain.expanded_um) == pytest.approx(0.95, abs=0.003)


def test_a_shared_cause_is_added_with_its_sign_before_it_is_squared():
    links = [Link("bar", 2.0, -0.5, cause="eye"), Link("bed", 2.0, cause="eye"), Link("heat", 0.5)]
    z, heat = np.random.default_rng(6).normal(0, [[2.0], [0.5]], (2, 200_000))
    chain = combine_chain(links)
    assert (-0.5 * z + z + heat).std() == pytest.approx(float(chain.combined_um), rel=0.01)
    assert chain.names == ("eye", "heat") and chain.links == ("bar", "bed", "heat") and chain.entry_of == (0, 0, 1)
    plain = combine_chain([Link("bar", 2.0, 0.5, cause="eye"), Link("bed", 2.0, cause="eye")])
    assert float(plain.combined_um) == pytest.approx(3.0)


def test_the_guides_ten_resistors_in_line_add_plainly():
    # JCGM 100:2008, 5.2.2, example (from memory): ten resistors of 1000 ohm, each compared with one standard whose
    # standard uncertainty is 0.100 ohm, in series: 1 ohm, not 0.32.
    line = combine_chain([Link(f"resistor {k}", 0.100, cause="the standard") for k in range(10)])
    assert float(line.combined_um) == pytest.approx(1.0)
    apart = combine_chain([Link(f"resistor {k}", 0.100) for k in range(10)])
    assert round(float(apart.combined_um), 2) == 0.32


def test_opposite_signs_cancel_and_the_least_known_link_gives_the_freedom():
    chain = combine_chain(
        [Link("a", 2.0, freedom=9, cause="same"), Link("b", 2.0, -1.0, freedom=4, cause="same"), Link("c", 1.0)]
    )
    assert float(chain.combined_um) == 1.0 and chain.contribution_um.tolist() == [0.0, 1.0]
    assert (
        float(combine_chain([Link("a", 2.0, freedom=9, cause="same"), Link("b", 2.0, freedom=4, cause="same")]).freedom)
        == 4
    )


def test_shares_add_up_and_the_weakest_link_is_worth_most():
    chain = combine_chain([Link("a", 2.0), Link("b", 3.0), Link("c", 1.0)])
    assert chain.share.sum() == pytest.approx(1)
    assert int(chain.weakest) == 1 == int(np.argmin(chain.if_halved_um))
    halved = combine_chain([Link("a", 2.0), Link("b", 1.5), Link("c", 1.0)])
    assert chain.if_halved_um[1] == pytest.approx(float(halved.combined_um))


def test_many_workshops_go_through_at_once():
    sd = np.random.default_rng(0).uniform(0.5, 4, (1000, 2))
    chain = combine_chain([Link("a", sd[:, 0], freedom=4), Link("b", sd[:, 1]), Link("c", 1.0)])
    assert chain.combined_um.shape == (1000,) and chain.share.shape == (1000, 3) and chain.sentence == ""
    one = combine_chain([Link("a", sd[7, 0], freedom=4), Link("b", sd[7, 1]), Link("c", 1.0)])
    assert chain.expanded_um[7] == pytest.approx(float(one.expanded_um))


def test_a_known_half_width_counts_by_root_three():
    assert half_width_sd(3.0) == pytest.approx(np.random.default_rng(1).uniform(-3, 3, 400_000).std(), rel=0.01)


@pytest.mark.parametrize(
    ("links", "sentence"),
    [
        ([], "links holds nothing; it must hold one link or more."),
        ([Link("a", -1.0)], "sd of a is -1; it must be 0 or more."),
        (
            [Link("a", 1.0), Link("a", 2.0)],
            "the name 'a' in links is there 2 times; it must be there once. Give each link a name of its own.",
        ),
        ([Link("a", 1.0, freedom=0)], "freedom of a is 0; it must be more than 0."),
        (
            [Link("a", 1.0), Link("b", 1.0, cause="a")],
            (
                "cause of b is 'a', the name of a link that has no cause; it must be another name. Give one of them "
                "another name."
            ),
        ),
        ([("a", 1.0)], "links[0] is a tuple; it must be a Link."),
        (
            [Link("a", np.ones(2)), Link("b", np.ones(3))],
            "sd of the links are a row of 2 and a row of 3; they must be of one shape, or single figures.",
        ),
    ],
)
def test_an_impossible_link_is_refused_in_one_sentence(links, sentence):
    with pytest.raises(ValueError) as refused:
        combine_chain(links)
    assert str(refused.value) == sentence
