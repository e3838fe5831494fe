using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Host.Tests.Support;
using Contracts.Host.Terminal;
using Contracts.Tests.Support;
using Xunit;

namespace Contracts.Host.Tests.Replays;

/// <summary>An extract that is kept: fifteen invented contracts with every kind of command, replayed by every build to the figures they once had.</summary>
public sealed class ExtractFixtureTests
{
    private static readonly string Sample = Path.Combine(Golden.Root, "fixtures", "extracts", "sample.jsonl");

    [Fact]
    public async Task The_kept_extract_replays_to_its_figures()
    {
        // No database is named that could be opened.
        var (exit, output, error) = await Shell.ContractsWithAsync("rubbish", "replay", Sample, "--format", "table");
        Assert.True(exit == ExitCodes.Done, output + error);
        Assert.Contains("views, all as expected", output, StringComparison.Ordinal);
    }

    [Fact]
    public void The_kept_extract_has_every_kind_of_command_on_a_contract_that_makes_figures()
    {
        var told = File.ReadLines(Sample).Select(line => (string)JsonNode.Parse(line)!["do"]!).ToHashSet(StringComparer.Ordinal);
        var kinds = typeof(ContractCommand).GetNestedTypes().Where(type => type.IsSubclassOf(typeof(ContractCommand)) && type != typeof(ContractCommand.Issue));
        Assert.Empty(kinds.Select(type => Spelt(type.Name)).Except(told, StringComparer.Ordinal));
    }

    private static string Spelt(string name) =>
        string.Concat(name.Select((letter, index) => char.IsUpper(letter) ? $"{(index > 0 ? "-" : "")}{char.ToLowerInvariant(letter)}" : $"{letter}"));
}
