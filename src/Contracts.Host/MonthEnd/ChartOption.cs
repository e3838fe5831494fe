using System.CommandLine;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Host.Terminal;

namespace Contracts.Host.MonthEnd;

/// <summary>The chart of accounts a command works with: the program's own, or a file.</summary>
internal static class ChartOption
{
    public static readonly Option<string?> File = new("--chart")
    {
        Description = "A chart of accounts as JSON, in place of the program's own (docs/accounting.md has the shape).",
    };

    /// <summary>Runs a command's work with its chart; a chart that cannot be used is refused before anything else happens.</summary>
    public static Task<int> RunAsync(ParseResult parse, Func<Session, Chart, Task<int>> work, CancellationToken stop) => Session.RunAsync(
        parse, simulatedClock: false,
        session =>
        {
            var (chart, refusal) = Read(parse);
            return chart is null ? Task.FromResult(session.Refuse(refusal!)) : work(session, chart);
        },
        stop);

    private static (Chart? Chart, Refusal? Refusal) Read(ParseResult parse)
    {
        if (parse.GetValue(File) is not { } file) { return (Chart.Standard, null); }
        if (!System.IO.File.Exists(file)) { throw new FileNotFoundException($"There is no file {file}."); }
        return Chart.Parse(System.IO.File.ReadAllText(file));
    }
}
