"""The app: server, page set-up and navigation, nothing else. Run with `streamlit run app.py`."""

import streamlit as st

from planner.screens.ready import getting_ready, wait_until_ready

if __name__ != "__main__":  # the server imports it, and runs it for every look at a page
    app = st.App(__file__, lifespan=getting_ready)
else:
    st.set_page_config(page_title="Does it fit?", layout="wide", initial_sidebar_state="collapsed")

    PAGES = [
        st.Page("planner/screens/fit_page.py", title="Does it fit?", default=True),
        st.Page("planner/screens/enter_page.py", title="Enter and change", url_path="enter"),
        st.Page("planner/screens/winter_page.py", title="Charging through the year", url_path="winter"),
        st.Page("planner/screens/wiring_page.py", title="From battery to load", url_path="wiring"),
        st.Page("planner/screens/compare_page.py", title="Which battery", url_path="compare"),
        st.Page("planner/screens/many_page.py", title="Many at once", url_path="many"),
        st.Page("planner/screens/bench_page.py", title="What a bench log says", url_path="bench"),
        st.Page("planner/screens/after_page.py", title="After the outing", url_path="after"),
        st.Page("planner/screens/library_page.py", title="Library", url_path="library"),
    ]
    chosen = st.navigation(PAGES, position="top")
    with st.container():  # holds its place when there is nothing to wait for
        wait_until_ready()
    from planner.screens.answering import one_run  # what is imported here takes seconds, and is ready by now
    from planner.screens.look import look
    from planner.screens.verdict_bar import verdict_bar

    look()
    with one_run():
        verdict_bar()
        chosen.run()
