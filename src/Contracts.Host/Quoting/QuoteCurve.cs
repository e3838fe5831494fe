using System.Globalization;
using System.Text.RegularExpressions;
using Contracts.Quotes;
using NodaTime;
using NodaTime.Text;
using ScottPlot;
using ScottPlot.TickGenerators;

namespace Contracts.Host.Quoting;

/// <summary>
/// The quote as a picture: what each way costs in all, by day. Every line has its own shade, stroke and mark, so that it is told
/// apart on a black and white print. Pixels and points of a picture are floating point; no figure is made from them.
/// </summary>
internal static partial class QuoteCurve
{
    private const int Width = 1000;
    private const int Height = 640;
    private const double RoomAbove = 1.08;

    private static readonly Color Blue = Color.FromHex("#0072B2");
    private static readonly Color Grey = Color.FromHex("#6E6E6E");

    /// <summary>Draws into a file that ends in .svg or .png.</summary>
    public static void Draw(Quote quote, string path)
    {
        using var plot = Plot(quote);
        // The bytes are made first: a file is there whole, or the old one stays.
        var bytes = Path.GetExtension(path) == ".svg"
            ? System.Text.Encoding.UTF8.GetBytes(Numbered(plot.GetSvgXml(Width, Height)))
            : plot.GetImageBytes(Width, Height, ImageFormat.Png);
        File.WriteAllBytes(path, bytes);
    }

    /// <summary>The library numbers clips through all drawings of a process; here each begins with nought, so that one quote is the same bytes whenever it is drawn.</summary>
    private static string Numbered(string svg)
    {
        var numbers = new Dictionary<string, string>(StringComparer.Ordinal);
        return Clip().Replace(svg, found =>
        {
            var number = numbers.Count.ToString("x", CultureInfo.InvariantCulture);
            if (!numbers.TryAdd(found.Groups[2].Value, number)) { number = numbers[found.Groups[2].Value]; }
            return found.Groups[1].Value + number;
        });
    }

    [GeneratedRegex("(id=\"cl_|url\\(#cl_)([0-9a-f]+)")]
    private static partial Regex Clip();

    private static Plot Plot(Quote quote)
    {
        var plot = new Plot();
        var days = quote.Months.Select(month => Day(month.On)).ToArray();
        var open = quote.Months[..^1];
        Add(plot, days, quote.Months.Select(month => month.TotalIfBought), "bought on the day, in all", Colors.Black, LinePattern.Solid, MarkerShape.FilledCircle);
        Add(plot, days[..^1], open.Select(month => month.CostIfReturned), "returned after the day, in all", Blue, LinePattern.Dashed, MarkerShape.OpenSquare);
        Add(plot, days, quote.Months.Select(month => month.PriceToOwn + month.PriceTax), "price to own that day", Grey, LinePattern.DenselyDashed, MarkerShape.FilledTriangleUp);
        Level(plot, quote.TotalOutright, "bought outright today, in all");
        Dress(plot, quote);
        return plot;
    }

    private static void Add(Plot plot, double[] days, IEnumerable<Money> amounts, string label, Color color, LinePattern pattern, MarkerShape marker)
    {
        if (days.Length == 0) { return; }
        var line = plot.Add.Scatter(days, amounts.Select(Dollars).ToArray());
        (line.LegendText, line.Color, line.LinePattern, line.MarkerShape) = (label, color, pattern, marker);
        (line.LineWidth, line.MarkerSize, line.MarkerLineWidth) = (2, 7, 1.5f);
    }

    private static void Level(Plot plot, Money amount, string label)
    {
        var line = plot.Add.HorizontalLine(Dollars(amount), 2, Colors.Black, LinePattern.Dotted);
        (line.LegendText, line.EnableAutoscale) = (label, true);
    }

    private static void Dress(Plot plot, Quote quote)
    {
        var unit = quote.Offer.Instrument is { } named ? $" ({named.Kind})" : "";
        var from = LocalDatePattern.Iso.Format(quote.Offer.StartOn) + (quote.Offer.StartsAtDelivery ? ", if it is delivered then" : "");
        plot.Title($"What renting costs in all{unit}, from {from}, when everything is paid on its day");
        plot.XLabel("due date\nRent-to-own disclosure rules vary by state. Not a disclosure; ask local counsel.");
        plot.YLabel("US dollars, with tax");
        plot.Axes.Bottom.TickGenerator = new DateTimeAutomatic { LabelFormatter = day => day.ToString("yyyy-MM-dd", CultureInfo.InvariantCulture) };
        plot.Axes.SetLimitsY(0, Highest(quote) * RoomAbove);
        plot.Grid.MajorLineColor = Colors.Black.WithOpacity(0.12);
        plot.ShowLegend(Edge.Bottom);
        plot.Legend.ShadowColor = Colors.Transparent;
        plot.Font.Set(Fonts.Sans);
    }

    private static double Highest(Quote quote) =>
        Math.Max(Dollars(quote.Months.Max(month => month.TotalIfBought)), Dollars(quote.TotalOutright));

    private static double Dollars(Money amount) => amount.Cents / 100d;

    private static double Day(LocalDate day) => day.ToDateTimeUnspecified().ToOADate();
}
