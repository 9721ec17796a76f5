"""The app: page set-up and navigation, nothing else. Run with `streamlit run app.py`."""

import streamlit as st

st.set_page_config(page_title="Does it fit?", layout="wide", initial_sidebar_state="collapsed")

PAGES = [
    st.Page("planner/screens/fit_page.py", title="Does it fit?", default=True),
    st.Page("planner/screens/winter_page.py", title="Charging through the year", url_path="winter"),
    st.Page("planner/screens/wiring_page.py", title="From battery to load", url_path="wiring"),
    st.Page("planner/screens/compare_page.py", title="Which battery", url_path="compare"),
    st.Page("planner/screens/bench_page.py", title="What a bench log says", url_path="bench"),
]

st.navigation(PAGES, position="top").run()
