using System.CommandLine;
using Contracts.Agreements;
using Contracts.Books;

namespace Contracts.Host.MonthEnd;

/// <summary>The chart of accounts a command works with: the program's own, or a file.</summary>
internal static class ChartOption
{
    public static readonly Option<string?> Chart = new("--chart")
    {
        Description = "A chart of accounts as JSON, in place of the program's own (docs/accounting.md has the shape).",
    };

    public static (Chart? Chart, Refusal? Refusal) Read(ParseResult parse)
    {
        if (parse.GetValue(Chart) is not { } file) { return (Books.Chart.Standard, null); }
        if (!File.Exists(file)) { throw new FileNotFoundException($"There is no file {file}."); }
        return Books.Chart.Parse(File.ReadAllText(file));
    }
}
