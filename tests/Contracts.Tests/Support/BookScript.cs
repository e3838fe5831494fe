using System.Globalization;
using Contracts.Books;
using NodaTime;
using NodaTime.Text;
using Xunit;

namespace Contracts.Tests.Support;

/// <summary>
/// Given a contract's life, when one more line comes, then these lines are added to its books. A line reads
/// <c>day account movement amount</c>, debits positive; a line earned by day has its period's first and last day
/// (<c>2026-09-05..2026-10-04</c>), and one that takes the rest of a period back says from when (<c>2026-09-15>2026-10-04</c>).
/// </summary>
public sealed class BookScript
{
    private const string Contract = "C-1";

    private readonly Script script;
    private IReadOnlyList<BookLine> added = [];

    private BookScript(Script script) => this.script = script;

    public static BookScript Given(string text) => new(Script.Given(text));

    public BookScript When(string line)
    {
        var before = script.Shop.History(Contract);
        script.When(line).ThenAccepted();
        added = Postings.Added(before, script.Shop.History(Contract), script.Shop.RatesAt(Instant.MaxValue));
        return this;
    }

    public BookScript ThenLines(string expected)
    {
        var wanted = expected.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Order(StringComparer.Ordinal);
        Assert.Equal(string.Join("\n", wanted), string.Join('\n', added.Select(Text).Order(StringComparer.Ordinal)));
        return this;
    }

    /// <summary>Debits less credits of an account at the end of a day, all authorities together.</summary>
    public BookScript ThenBalance(string day, BookAccount account, string balance)
    {
        var on = LocalDatePattern.Iso.Parse(day).Value;
        var lines = Postings.Lines(script.Shop.History(Contract), script.Shop.RatesAt(Instant.MaxValue), LocalDate.MinIsoValue, on);
        var sum = lines.Where(line => line.Account == account).Aggregate(Money.Zero, (total, line) => total + line.Through(on));
        Assert.Equal($"{day} {account} {balance}", $"{day} {account} {sum}");
        return this;
    }

    private static string Text(BookLine line)
    {
        var account = line.Authority.Length == 0 ? $"{line.Account}" : $"{line.Account}:{line.Authority.Replace(' ', '-')}";
        var period = line.Spread is not { } spread ? "" : line.On == spread.From ? $"..{Iso(line.Last)}" : $">{Iso(line.Last)}";
        return string.Create(CultureInfo.InvariantCulture, $"{Iso(line.On)}{period} {account} {line.Movement} {line.Amount}");
    }

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
