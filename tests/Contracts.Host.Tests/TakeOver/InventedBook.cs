using System.Text;
using Contracts.Agreements;
using Contracts.Host.TakeOver;
using Contracts.Host.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.TakeOver;

/// <summary>The invented book of fixtures/take-over, and small ones for single questions.</summary>
internal static class InventedBook
{
    public const string Header = "No,Family,Serial,Signed,Price,Rent,Plan,Through,Equity\n";

    public const string Mapping = """
        {"book":"small-book","date":"MM/dd/uuuu","yes":"Y","no":"N",
         "contracts":{"columns":{"contract":"No","household":"Family","serial":"Serial","signedOn":"Signed","cashPrice":"Price","monthlyRent":"Rent","planElected":"Plan","paidThrough":"Through"},
                      "always":{"kind":"clarinet","condition":"used","state":"OR","jurisdiction":"J","creditShare":"1.00","planMonthly":"5.00"},"figures":{"equity":"Equity"}}}
        """;

    public const string Totals = """{"asOf":"2026-10-31","equity":"120.00"}""";

    public const string Line = "B-1,H-1,S-1,05/05/2026,300.00,30.00,N,08/31/2026,120.00\n";

    /// <summary>The rate, set when the days of the totals have come.</summary>
    public static readonly string Tax = Lines.Tax.Replace("2026-08-01T12:00:00Z", "2026-11-02T12:00:00Z", StringComparison.Ordinal);

    public static readonly string Folder = Path.Combine(AppContext.BaseDirectory, "..", "..", "..", "..", "..", "fixtures", "take-over");

    public static string Fixture(string name) => Path.GetFullPath(Path.Combine(Folder, name));

    /// <summary>Reads a small book from its text.</summary>
    public static (BookReading? Reading, Refusal? Refusal) Read(string contracts, string? mapping = null, string? totals = null, string? payments = null) =>
        Read(Encoding.UTF8.GetBytes(contracts), mapping, totals, payments);

    public static (BookReading? Reading, Refusal? Refusal) Read(byte[] contracts, string? mapping = null, string? totals = null, string? payments = null) => BookReading.Read(
        contracts, payments is null ? null : Encoding.UTF8.GetBytes(payments), Encoding.UTF8.GetBytes(mapping ?? Mapping), Encoding.UTF8.GetBytes(totals ?? Totals), "office");

    /// <summary>A book that can be used.</summary>
    public static BookReading Good(string contracts, string? mapping = null, string? totals = null)
    {
        var (reading, refusal) = Read(contracts, mapping, totals);
        Assert.True(reading?.Book is not null, refusal?.Detail ?? string.Join('\n', reading?.Faults.Select(one => one.Refusal.Detail) ?? []));
        return reading!;
    }

    /// <summary>Takes a small book with a deemed payment into a store, its contract in a jurisdiction.</summary>
    public static async Task IntoAsync(Contracts.Store.ContractsStore store, string jurisdiction)
    {
        var book = Good(Header + Line, Mapping.Replace("\"J\"", $"\"{jurisdiction}\"", StringComparison.Ordinal));
        var taken = await store.BookIntake.TakeAsync(book.Book!, book.Totals, false, null);
        Assert.True(taken.Refusal is null, taken.Refusal?.Detail);
    }

    /// <summary>A file with these bytes, for the command line.</summary>
    public static async Task<string> FileAsync(string text)
    {
        var path = Path.GetTempFileName();
        await File.WriteAllTextAsync(path, text);
        return path;
    }
}
