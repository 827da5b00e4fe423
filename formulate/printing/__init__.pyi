from .notebook_in_html import notebook_html as notebook_html
from .sheet_contents import Sheet as Sheet
from .sheet_contents import sheet as sheet
from .sheet_in_html import sheet_html as sheet_html
from .sheet_in_pdf import sheet_pdf as sheet_pdf
from .week_in_html import week_html as week_html
