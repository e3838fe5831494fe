using System.Text;
using Contracts.Commands;
using Contracts.Store;
using Xunit;

namespace Contracts.Host.Tests.Support;

/// <summary>Command lines for tests of the store: the rules are tried elsewhere, here they are only a load.</summary>
internal static class Lines
{
    public const string Tax =
        """{"do":"set-tax","key":"tax","at":"2026-08-01T12:00:00Z","jurisdiction":"J","rate":"0.08","from":"2020-01-01","taxes":{"rent":true,"plan":false,"fees":false,"sale":true}}""";

    public static string Sign(string contract, string serial, string? key = null, string at = "2026-09-01T12:00:00Z") => $$"""
        {"do":"sign","key":"{{key ?? "sign-" + contract}}","at":"{{at}}","contract":"{{contract}}","on":"{{at[..10]}}","household":"H","instrument":{"kind":"clarinet","serial":"{{serial}}","condition":"new"},"state":"OR","jurisdiction":"J","startOn":"{{at[..10]}}","terms":{"cashPrice":"300.00","purchasePrice":"300.00","introductory":{"months":1,"payment":"20.00"},"monthlyRent":"30.00","creditShare":"1.00","earlyPurchase":[{"discount":"0.25"}],"lateFee":{"amount":"5.00","graceDays":7},"returnedPaymentFee":"0.00"},"accessories":[],"planElected":false}
        """.Trim();

    public static string Pay(string contract, string key, string amount, string at, string? on = null) =>
        $$"""{"do":"pay","key":"{{key}}","at":"{{at}}","contract":"{{contract}}","on":"{{on ?? at[..10]}}","amount":"{{amount}}","method":"cash"}""";

    public static CommandRequest Request(string line, bool simulated = true)
    {
        var (read, refusal) = CommandReader.Read(Encoding.UTF8.GetBytes(line));
        Assert.True(read is not null, refusal?.Detail);
        return new CommandRequest(read.Command, simulated ? read.At : null);
    }

    public static async Task<IReadOnlyList<CommandResult>> ApplyAsync(this ContractsStore store, params string[] lines) =>
        await store.Pipeline.ApplyAsync([.. lines.Select(line => Request(line, store.Settings.SimulatedClock))]);
}
