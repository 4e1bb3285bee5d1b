/* The grid's own functions: its look, and a selection that follows the keyboard. */
var dagfuncs = (window.dashAgGridFunctions = window.dashAgGridFunctions || {});

dagfuncs.wallTheme = function (base) {
  return base.withParams({
    fontFamily: "inherit",
    fontSize: 13,
    headerFontSize: 12,
    headerFontWeight: 400,
    backgroundColor: "var(--paper)",
    foregroundColor: "var(--ink)",
    headerBackgroundColor: "var(--paper)",
    headerTextColor: "var(--muted)",
    borderColor: "var(--hairline)",
    wrapperBorder: false,
    wrapperBorderRadius: 0,
    headerColumnResizeHandleColor: "transparent",
    rowHoverColor: "color-mix(in srgb, var(--accent) 6%, var(--paper))",
    selectedRowBackgroundColor: "color-mix(in srgb, var(--accent) 13%, var(--paper))",
    accentColor: "var(--accent)",
    cellHorizontalPadding: 10
  });
};

/* By rank; a wall without one comes last. */
dagfuncs.rankOrder = function (one, other) {
  return (one === null || one === undefined ? Infinity : one) - (other === null || other === undefined ? Infinity : other) || 0;
};

/* A number in the marks of the brief's locale, which the page's root carries. */
dagfuncs.spelt = function (number) {
  var marks = document.documentElement.dataset;
  return number.replace(/[.,]/g, function (mark) { return mark === "." ? marks.decimal : marks.group; });
};

dagfuncs.selectFocusedRow = function (params) {
  if (params.rowIndex === null || params.rowIndex === undefined || params.rowPinned) { return; }
  var node = params.api.getDisplayedRowAtIndex(params.rowIndex);
  if (node && !node.isSelected()) { node.setSelected(true, true); }
};

/* What ranges and locks leave (narrowing.js); all of it before they are known. */
dagfuncs.wallKept = function (params) {
  var kept = window.frontState && window.frontState.kept;
  return !kept || !params.data || kept[params.data.id] !== false;
};
