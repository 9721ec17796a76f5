"""The app: page set-up and navigation, nothing else. Run with `streamlit run app.py`."""

import streamlit as st

st.set_page_config(page_title="Does it fit?", layout="wide", initial_sidebar_state="collapsed")

PAGES = [st.Page("planner/screens/fit_page.py", title="Does it fit?", default=True)]

st.navigation(PAGES, position="top").run()
