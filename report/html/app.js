"use strict";
// All code of the page besides the chart library. Options are data in
// <script type="application/json">; functions are known here by name only, and
// text from the log is escaped before it becomes HTML.
(() => {
  const root = document.documentElement;
  const css = name => getComputedStyle(root).getPropertyValue(name).trim();
  const escape = s => String(s).replace(/[&<>"']/g, c => `&#${c.charCodeAt(0)};`);
  const signed = (x, unit) => (x < 0 ? "−" : "+") + Math.abs(x) + " " + unit;

  // The box at the pointer.
  const tips = {
    errorTip: unit => p => {
      if (p.componentType !== "series" || p.seriesType !== "scatter") return "";
      const row = p.value, at = dim => p.encode && p.encode[dim] ? p.encode[dim][0] : undefined;
      const off = p.seriesName === "off the chart" ? row[2] : row[at("y")];
      const x = row[at("x")];
      return `<b>${escape(p.name)}</b><br>${escape(unit ? "measured " + x + " " + unit : x)}<br>${escape(p.seriesName)}: ${escape(signed(off, "%"))}`;
    },
    // a build of a product line; the name of a ring has the words beside it
    lineTip: unit => p => p.componentType === "series" && p.seriesType === "scatter"
      ? `<b>${escape(p.name)}</b><br>${escape(p.value[2] + " " + unit + " of the plan")}` : "",
    intervalTip: unit => p => {
      if (p.componentType !== "series" || p.seriesType !== "scatter") return "";
      const [x, , low, high] = p.value;
      const limits = low === undefined ? "" : ` (${low} to ${high})`;
      return `<b>${escape(p.name)}</b><br>${escape(p.seriesName)}: ${escape(x + limits + " " + unit)}`;
    },
  };

  // Drawn series.
  const drawn = {
    // a bar from low to high with ends, along its row
    whisker(params, api) {
      const low = api.coord([api.value(0), api.value(1)]), high = api.coord([api.value(2), api.value(1)]), h = 5;
      const style = {stroke: api.visual("color"), lineWidth: 2, fill: "none"};
      const line = (x1, y1, x2, y2) => ({type: "line", shape: {x1, y1, x2, y2}, style});
      return {type: "group", children: [
        line(low[0], low[1], high[0], high[1]),
        line(low[0], low[1] - h, low[0], low[1] + h),
        line(high[0], high[1] - h, high[0], high[1] + h)]};
    },
  };

  // Colours are named by CSS variable. Data is never looked into.
  const paint = v => {
    for (const [key, value] of Object.entries(v)) {
      if (key === "data" || key === "dataset" || key === "name") continue;
      if (typeof value === "string" && value.startsWith("--")) v[key] = css(value);
      else if (value && typeof value === "object") paint(value);
    }
  };

  const dress = (option, unit, narrow) => {
    paint(option);
    const ink = css("--ink"), soft = css("--soft"), line = css("--line");
    const size = narrow ? 11 : 12;
    option.textStyle = {fontFamily: css("--sans"), color: ink, fontSize: size};
    Object.assign(option.tooltip, {
      formatter: tips[option.tooltip.formatter](unit), confine: true, backgroundColor: css("--wash"), borderColor: line,
      textStyle: {color: ink, fontSize: 12}, extraCssText: "box-shadow:none;max-width:280px;white-space:normal;overflow-wrap:anywhere",
    });
    for (const axis of [].concat(option.xAxis, option.yAxis)) {
      axis.nameTextStyle = {color: soft, fontSize: size};
      axis.axisLine = {show: true, onZero: false, lineStyle: {color: line}};
      axis.axisTick = {show: axis.type !== "category", lineStyle: {color: line}};
      axis.axisLabel = Object.assign(axis.axisLabel || {}, {color: soft, fontSize: size, hideOverlap: true});
      axis.splitLine = axis.type === "category" || axis.type === "time" ? {show: false} : {lineStyle: {color: line, opacity: 0.6}};
      if (narrow && axis.type === "category") axis.axisLabel.width = 110;
      if (narrow && axis.type !== "category") axis.splitNumber = 4;
    }
    for (const axis of [].concat(option.yAxis)) axis.nameTextStyle.align = "left";
    if (narrow) for (const grid of [].concat(option.grid)) Object.assign(grid, {left: option.yAxis[0].type === "category" ? 14 : 2, right: 18});
    for (const s of option.series) {
      if (s.type === "custom") s.renderItem = drawn[s.renderItem];
      if (s.markLine) Object.assign(s.markLine, {silent: true, animation: false});
      if (s.markLine && s.markLine.label) s.markLine.label.fontSize = size;
      if (s.type === "line") s.silent = true;
    }
    option.aria = {enabled: false}; // the page words every chart itself
    return option;
  };

  const charts = [...document.querySelectorAll("script[data-chart]")].map(island => {
    const box = document.getElementById(island.dataset.chart);
    return {box, island, chart: echarts.init(box, null, {renderer: island.dataset.renderer})};
  });
  const draw = width => {
    for (const c of charts) {
      c.chart.resize({width: width || "auto"});
      c.chart.setOption(dress(JSON.parse(c.island.textContent), c.island.dataset.unit, c.chart.getWidth() < 520), true);
    }
  };
  draw();

  let waiting = 0;
  addEventListener("resize", () => { cancelAnimationFrame(waiting); waiting = requestAnimationFrame(() => draw()); });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw());
  // On paper: ink on white, as wide as a page.
  addEventListener("beforeprint", () => { root.dataset.paper = ""; draw(640); });
  addEventListener("afterprint", () => { delete root.dataset.paper; draw(); });
  root.dataset.ready = charts.length;
})();
