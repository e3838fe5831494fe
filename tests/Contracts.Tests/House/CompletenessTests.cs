using System.Text.RegularExpressions;
using Contracts.Agreements;
using Contracts.Payments;
using Xunit;

namespace Contracts.Tests.House;

/// <summary>
/// The compiler does not prove a switch over a closed family complete. These tests do: each case must be named in
/// each switch that has to answer for all of them.
/// </summary>
public sealed class CompletenessTests
{
    public static readonly TheoryData<string, bool> SwitchesOverEvents = new()
    {
        { "src/Contracts/History/AccountFold.Facts.cs", false },
        { "src/Contracts/Explain/FactWords.cs", false },
        { "src/Contracts.Host/Reconstruct/HistoryLine.cs", true },
        { "src/Contracts.Store/EventNames.cs", true },
    };

    public static readonly TheoryData<string> SwitchesOverCommands = new()
    {
        { "src/Contracts/Agreements/ContractDecider.cs" },
        { "src/Contracts/Commands/CommandReader.cs" },
    };

    [Theory]
    [MemberData(nameof(SwitchesOverEvents))]
    public void Every_event_is_answered_for(string file, bool notesToo)
    {
        var text = File.ReadAllText(Path.Combine(Repository.Root, file));
        foreach (var name in Cases(typeof(ContractEvent)))
        {
            var isNote = name is "InstallmentCharged" or "InstallmentReversed" or "FeeCharged" or "FeeReversed" or "OwnershipTransferred" or "DocumentIssued";
            if (isNote && !notesToo) { continue; }
            Assert.True(Regex.IsMatch(text, $@"ContractEvent\.{name}\b"), $"{file} does not answer for {name}.");
        }
    }

    [Theory]
    [MemberData(nameof(SwitchesOverCommands))]
    public void Every_command_is_answered_for(string file)
    {
        var text = File.ReadAllText(Path.Combine(Repository.Root, file));
        Assert.All(Cases(typeof(ContractCommand)), name =>
            Assert.True(Regex.IsMatch(text, $@"ContractCommand\.{name}\b"), $"{file} does not answer for {name}."));
    }

    [Fact]
    public void Every_kind_and_part_of_a_charge_has_a_word()
    {
        Assert.All(Enum.GetValues<ChargeKind>(), kind => Assert.NotEmpty(kind.Word()));
        Assert.All(Enum.GetValues<ChargePart>(), part => Assert.NotEmpty(part.Word()));
    }

    [Fact]
    public void Every_refusal_has_its_row_in_the_documentation()
    {
        var page = File.ReadAllText(Path.Combine(Repository.Root, "docs/refusals.md"));
        Assert.All(Enum.GetValues<RefusalCode>(), code =>
            Assert.Matches($@"\| {(int)code} \| `?{Refusal.SlugOf(code)}`? \|", page));
    }

    private static IEnumerable<string> Cases(Type family) => family.GetNestedTypes().Select(type => type.Name);
}
