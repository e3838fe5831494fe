using System.Globalization;
using System.Text;
using NodaTime;

namespace Contracts.Benchmarks;

/// <summary>
/// An invented portfolio from a fixed seed, as command lines in order of recording: contracts signed over a year,
/// most families paying monthly, some late, some dated back, a few returns and swaps.
/// </summary>
internal static class Portfolio
{
    private static readonly LocalDate Start = new(2024, 7, 1);

    /// <summary>The last day of the month before which every family has signed.</summary>
    public static LocalDate AllSigned { get; } = new(2025, 6, 30);

    /// <summary>Writes about <paramref name="linesPerContract"/> lines for each contract; answers how many lines.</summary>
    /// <param name="path">The file.</param>
    /// <param name="contracts">How many families.</param>
    /// <param name="linesPerContract">Lines for each: the signing and payments.</param>
    /// <param name="billThrough">Adds a billing run at each month's end up to this one, and leaves out what is recorded after it.</param>
    public static int Write(string path, int contracts, int linesPerContract, LocalDate? billThrough = null)
    {
        var random = new Random(20260901);
        var lines = new List<(long At, string Line)>(contracts * linesPerContract);
        for (var contract = 0; contract < contracts; contract++) { Live(contract, linesPerContract, random, lines); }
        if (billThrough is { } last) { Bill(last, lines); }
        lines.Sort((left, right) => left.At.CompareTo(right.At));
        using var file = new StreamWriter(path, append: false, new UTF8Encoding(false), 1 << 16);
        file.WriteLine("""{"do":"set-tax","key":"tax","at":"2024-06-01T00:00:00Z","jurisdiction":"J","rate":"0.08","from":"2020-01-01","taxes":{"rent":true,"plan":false,"fees":false,"sale":true}}""");
        foreach (var (_, line) in lines) { file.WriteLine(line); }
        return lines.Count + 1;
    }

    /// <summary>The billing run of the night after each month's last day, when it is that day in the shop still.</summary>
    private static void Bill(LocalDate last, List<(long At, string Line)> lines)
    {
        for (var month = Start; month <= last; month = month.PlusMonths(1))
        {
            var through = month.PlusMonths(1).PlusDays(-1);
            var at = BilledAt(through);
            lines.Add((at.ToUnixTimeTicks(), $$"""{"do":"bill","key":"bill-{{Iso(through)}}","through":"{{Iso(through)}}","at":"{{At(at)}}"}"""));
        }

        lines.RemoveAll(line => line.At > BilledAt(last).ToUnixTimeTicks());
    }

    /// <summary>When the run through a day is recorded.</summary>
    public static Instant BilledAt(LocalDate through) => through.PlusDays(1).AtMidnight().PlusHours(3).InUtc().ToInstant();

    private static void Live(int number, int count, Random random, List<(long At, string Line)> lines)
    {
        var id = string.Create(CultureInfo.InvariantCulture, $"C-{number:000000}");
        var signed = Start.PlusDays(random.Next(365));
        Add(signed, $$"""
            {"do":"sign","key":"{{id}}-s","contract":"{{id}}","on":"{{Iso(signed)}}","household":"H-{{number}}","instrument":{"kind":"clarinet","serial":"S-{{number}}","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"{{Iso(signed)}}","terms":{"cashPrice":"1195.00","purchasePrice":"1195.00","introductory":{"months":2,"payment":"45.00"},"monthlyRent":"38.00","creditShare":"1.00","earlyPurchase":[{"throughMonth":3,"discount":"0.40"},{"discount":"0.25"}],"plan":{"monthly":"7.00","chargedInIntroductory":false},"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":true}
            """.Trim());
        for (var line = 1; line < count; line++)
        {
            var due = signed.PlusMonths(line == 1 ? 0 : line);
            var paid = due.PlusDays(random.Next(10) == 0 ? random.Next(1, 20) : 0);
            var recorded = paid.PlusDays(random.Next(12) == 0 ? random.Next(1, 6) : 0);
            var body = line == 9 && number % 17 == 0
                ? $$"""{"do":"swap","key":"{{id}}-{{line}}","contract":"{{id}}","on":"{{Iso(recorded)}}","serial":"S-{{number}}-b","returnBy":"{{Iso(recorded.PlusDays(14))}}"}"""
                : $$"""{"do":"pay","key":"{{id}}-{{line}}","contract":"{{id}}","on":"{{Iso(paid)}}","amount":"{{(line == 1 ? "48.60" : "48.04")}}","method":"card"}""";
            Add(recorded, body);
        }

        void Add(LocalDate day, string line)
        {
            var at = day.AtMidnight().PlusHours(15).InUtc().ToInstant().Plus(Duration.FromSeconds(number % 20000).Plus(Duration.FromMilliseconds(lines.Count % 900)));
            lines.Add((at.ToUnixTimeTicks(), line[..^1] + $",\"at\":\"{At(at)}\"}}"));
        }
    }

    private static string At(Instant at) => NodaTime.Text.InstantPattern.ExtendedIso.Format(at);

    private static string Iso(LocalDate date) => NodaTime.Text.LocalDatePattern.Iso.Format(date);
}
