using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Trust policies: what is read, what is refused, and when a quorum has signed.</summary>
public sealed class PolicyTests
{
    private static readonly JsonObject Own = Group("lv1");

    private static readonly string Log = Text(Own, "log_vkey");

    private static readonly NoteSigner[] Witnesses = [.. Enumerable.Range(1, 4).Select(number =>
        new NoteSigner($"witness.example/{number}", NoteKeyType.Cosignature, [.. Enumerable.Repeat((byte)number, 32)]))];

    private static readonly NoteSigner LogSigner = new(NoteVerifier.Parse(Log).Value.Name, NoteKeyType.Ed25519, Hex(Vectors("ed25519")[0], "secret_seed_hex"));

    private static readonly string Groups = $"""
        # whom we trust
        log {Log} https://ledger.example/
          witness	w1 {Witnesses[0]}
        witness w2 {Witnesses[1]} https://two.example/
        witness w3 {Witnesses[2]}
        witness w4 {Witnesses[3]}
        group two-of-three 2 w1 w2 w3
        group all all two-of-three w4
        quorum all

        """;

    [Theory]
    [InlineData("1,2,4", true)]
    [InlineData("2,3,4", true)]
    [InlineData("1,2,3,4", true)]
    [InlineData("1,2,3", false)]
    [InlineData("1,4", false)]
    [InlineData("4", false)]
    [InlineData("", false)]
    public void A_checkpoint_counts_when_the_quorum_has_signed(string who, bool holds)
    {
        var text = new Checkpoint(LogSigner.Verifier.Name, 3, Digest.Of([3])).Text;
        var signatures = who.Split(',', StringSplitOptions.RemoveEmptyEntries).Select(number => Witnesses[number[0] - '1'].Cosign(text, 1_790_000_000));
        var note = SignedNote.Of(text, signatures.Prepend(LogSigner.Sign(text))).ToBytes();
        var opened = TlogPolicy.Parse(Utf8(Groups)).Value.Open(note);
        Assert.Equal(holds ? null : SealFaultKind.QuorumMissed, opened.Fault?.Kind);
    }

    [Fact]
    public void One_witness_or_none_can_be_the_quorum()
    {
        var signed = Utf8(Text(Own, "checkpoint_size7_text_with_cosignature"));
        var unwitnessed = Utf8(Text(Own, "checkpoint_size5_text"));
        var one = TlogPolicy.Parse(Utf8($"log {Log}\nwitness w {Text(Own, "witness_vkey")}\nquorum w\n")).Value;
        Assert.True(one.Open(signed).IsGood);
        Assert.Equal(SealFaultKind.QuorumMissed, one.Open(unwitnessed).Fault!.Kind);
        Assert.True(TlogPolicy.Parse(Utf8($"log {Log}\nquorum none\n")).Value.Open(unwitnessed).IsGood);
        Assert.Equal(SealFaultKind.OriginDiffers, TlogPolicy.Parse(Utf8($"witness w {Text(Own, "witness_vkey")}\nquorum w\n")).Value.Open(signed).Fault!.Kind);
    }

    [Theory]
    [InlineData("")]
    [InlineData("quorum w\n")]
    [InlineData("quorum none\nquorum none\n")]
    [InlineData("quorum none extra\n")]
    [InlineData("log\nquorum none\n")]
    [InlineData("log LOG\nlog LOG\nquorum none\n")]
    [InlineData("log WIT1\nquorum none\n")]
    [InlineData("witness w LOG\nquorum none\n")]
    [InlineData("witness none WIT1\nquorum none\n")]
    [InlineData("witness w WIT1\nwitness w WIT2\nquorum w\n")]
    [InlineData("witness w WIT1\nwitness x WIT1\nquorum w\n")]
    [InlineData("witness w WIT1\ngroup g 0 w\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g 2 w\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g 01 w\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g any\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g any none\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g any w w\nquorum g\n")]
    [InlineData("witness w WIT1\ngroup g any w\ngroup h any w\nquorum h\n")]
    [InlineData("witness w WIT1\ngroup g any g\nquorum g\n")]
    [InlineData("group g any w\nwitness w WIT1\nquorum g\n")]
    [InlineData("quorum none\nsomething else\n")]
    [InlineData("quorum none\r\n")]
    public void A_policy_that_breaks_a_rule_is_refused_with_its_line(string text)
    {
        var file = text.Replace("LOG", Log, StringComparison.Ordinal)
            .Replace("WIT1", Witnesses[0].Verifier.VKey, StringComparison.Ordinal).Replace("WIT2", Witnesses[1].Verifier.VKey, StringComparison.Ordinal);
        Assert.Equal(SealFaultKind.PolicyMalformed, TlogPolicy.Parse(Utf8(file)).Fault?.Kind);
    }

    [Fact]
    public void A_policy_with_too_many_names_is_refused()
    {
        var lines = Enumerable.Range(1, 300).Select(number => $"group g{number} any {(number == 1 ? "w" : $"g{number - 1}")}");
        var file = $"witness w {Witnesses[0]}\n{string.Join('\n', lines)}\nquorum g300\n";
        Assert.Contains("256", TlogPolicy.Parse(Utf8(file)).Fault!.Detail, StringComparison.Ordinal);
    }
}
