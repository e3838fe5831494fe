using System.Globalization;
using Contracts.Books;
using Contracts.Host.Tests.Support;
using DuckDB.NET.Data;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.MonthEnd;

/// <summary>
/// The journal of a thousand lives, read by general programs that know nothing of us: ledger, hledger and beancount (the
/// system's packages), and DuckDB over the exported postings. Their balances are ours on every date, to the cent.
/// </summary>
[Collection(ThousandLives.Name)]
public sealed class OutsideLedgerTests(ThousandLives thousand) : IDisposable
{
    private static readonly LocalDate[] Dates = [new(2026, 10, 31), new(2027, 3, 31), new(2028, 12, 31)];

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-journal-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Ledger_reads_the_journal_and_finds_our_balances()
    {
        var file = await ExportAsync("ledger");
        foreach (var date in Dates)
        {
            // Its end date is the first day that no longer counts, and it prints 1470 for 1470.00.
            var read = await Shell.SystemAsync(
                "ledger", "ledger", "-f", file, "balance", "--flat", "--no-total", "-e", Iso(date.PlusDays(1)),
                "--balance-format", "%(account)\t%(quantity(scrub(display_total)))\n");
            Assert.Equal((0, ""), (read.Exit, read.Error));
            await AgreeAsync(date, read.Output.Split('\n').Where(line => line.Contains('\t')).Select(line => line.Split('\t')));
        }

        Assert.NotEqual(0, (await Shell.SystemAsync("ledger", "ledger", "-f", await SpoilAsync(file), "balance")).Exit);
    }

    [Fact]
    public async Task Hledger_reads_the_journal_and_finds_our_balances()
    {
        var file = await ExportAsync("hledger");
        foreach (var date in Dates)
        {
            var read = await Shell.SystemAsync(
                "hledger", "hledger", "-f", file, "balance", "--flat", "-N", "-e", Iso(date.PlusDays(1)), "-O", "csv");
            Assert.Equal((0, ""), (read.Exit, read.Error));
            await AgreeAsync(date, read.Output.Split('\n').Skip(1).Where(line => line.Length > 0)
                .Select(line => line.Trim('"').Split("\",\"")).Select(cells => new[] { cells[0], cells[1].Split(' ')[0] }));
        }

        Assert.NotEqual(0, (await Shell.SystemAsync("hledger", "hledger", "-f", await SpoilAsync(file), "check")).Exit);
    }

    [Fact]
    public async Task Beancount_reads_the_journal_and_finds_our_balances()
    {
        var file = await ExportAsync("beancount");
        var check = await Shell.SystemAsync("bean-check", "beancount", file);
        Assert.Equal((0, "", ""), (check.Exit, check.Output, check.Error));
        foreach (var date in Dates)
        {
            var read = await Shell.SystemAsync(
                "bean-query", "beancount", "-q", "-f", "csv", file,
                $"SELECT account, currency, sum(number) AS amount WHERE date <= {Iso(date)} GROUP BY account, currency");
            await AgreeAsync(date, read.Output.Split('\n').Skip(1).Select(line => line.Split(',')).Where(cells => cells.Length == 3)
                .Select(cells => new[] { cells[0].Trim(), cells[2].Trim() }));
        }

        Assert.NotEqual(0, (await Shell.SystemAsync("bean-check", "beancount", await SpoilAsync(file))).Exit);
    }

    [Fact]
    public async Task Ledger_finds_the_balances_that_were_known_earlier()
    {
        var known = thousand.Lives[500][^1].RecordedAt;
        var file = await ExportAsync("ledger", "--known", NodaTime.Text.InstantPattern.ExtendedIso.Format(known));
        var read = await Shell.SystemAsync(
            "ledger", "ledger", "-f", file, "balance", "--flat", "--no-total", "-e", Iso(Dates[1].PlusDays(1)),
            "--balance-format", "%(account)\t%(quantity(scrub(display_total)))\n");
        await AgreeAsync(Dates[1], read.Output.Split('\n').Where(line => line.Contains('\t')).Select(line => line.Split('\t')), known);
    }

    [Fact]
    public async Task Duckdb_sums_the_exported_postings_to_our_balances()
    {
        var file = Path.Combine(folder, "postings.csv");
        var listed = await Shell.ContractsAsync(thousand.Database, "postings", "--by-day", "--format", "csv");
        await File.WriteAllTextAsync(file, listed.Output);
        await using var duck = new DuckDBConnection("DataSource=:memory:");
        await duck.OpenAsync();
        foreach (var date in Dates)
        {
            await using var command = duck.CreateCommand();
            command.CommandText = $"""
                select account, cast(sum(cast(debit as decimal(18,2)) - cast(credit as decimal(18,2))) as varchar)
                from read_csv('{file}', header = true, all_varchar = true) where bookedOn <= '{Iso(date)}' group by account
                """;
            var rows = new List<string[]>();
            await using var reader = await command.ExecuteReaderAsync();
            while (await reader.ReadAsync()) { rows.Add([reader.GetString(0), reader.GetString(1)]); }
            await AgreeAsync(date, rows);
        }
    }

    [Fact]
    public async Task Every_contract_and_every_cell_is_what_its_history_says() =>
        Assert.Empty((await thousand.Store.BookAudit.RunAsync(Instant.MaxValue - Duration.FromDays(4000))).Differences);

    private async Task AgreeAsync(LocalDate date, IEnumerable<string[]> theirs, Instant? known = null)
    {
        var totals = await thousand.Store.Books.TotalsAsync(LocalDate.MinIsoValue, date, known ?? Instant.MaxValue);
        var balance = TrialBalance.Of(Chart.Standard, totals.Select(total => (total.Account, total.Authority, total.Amount)));
        var ours = balance.Accounts.Concat(balance.Memo).ToDictionary(line => line.Name, line => Number(line.Balance.ToString()));
        var found = theirs.Select(cells => (Name: cells[0], Amount: Number(cells[1]))).Where(row => row.Amount != 0).ToDictionary(row => row.Name, row => row.Amount);
        Assert.True(ours.Count > 100);
        Assert.Equal(ours.OrderBy(pair => pair.Key, StringComparer.Ordinal), found.OrderBy(pair => pair.Key, StringComparer.Ordinal));
    }

    private async Task<string> ExportAsync(string form, params string[] more)
    {
        var file = Path.Combine(folder, $"journal.{form}");
        var done = await Shell.ContractsAsync(thousand.Database, ["export-journal", file, "--for", form, .. more]);
        Assert.Equal((0, ""), (done.Exit, done.Output));
        return file;
    }

    /// <summary>The same journal with one cent changed, which no program may take.</summary>
    private static async Task<string> SpoilAsync(string file)
    {
        var text = await File.ReadAllTextAsync(file);
        var at = text.IndexOf(" USD", StringComparison.Ordinal);
        var spoiled = file + ".spoiled";
        await File.WriteAllTextAsync(spoiled, string.Concat(text.AsSpan(0, at - 1), text[at - 1] == '9' ? "8" : "9", text.AsSpan(at)));
        return spoiled;
    }

    private static decimal Number(string text) => decimal.Parse(text, CultureInfo.InvariantCulture);

    private static string Iso(LocalDate day) => NodaTime.Text.LocalDatePattern.Iso.Format(day);
}
