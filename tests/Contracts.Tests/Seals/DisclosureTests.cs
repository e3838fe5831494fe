using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Salted disclosures: the published ones, and what is refused.</summary>
public sealed class DisclosureTests
{
    [Fact]
    public void Published_disclosures_have_their_digests_and_are_made_again()
    {
        var published = Group("disclosure");
        Assert.Equal(Text(published, "digest"), SaltedDisclosure.Parse(Text(published, "disclosure")).Value.Digest);
        foreach (var own in (JsonArray)Group("lv1")["disclosures"]!)
        {
            var read = SaltedDisclosure.Parse(Text(own!, "text")).Value;
            Assert.Equal(Text(own!, "digest"), read.Digest);
            var salt = Base64Text.ReadUrl(read.Salt)!;
            var made = SaltedDisclosure.Of(salt, read.Name, read.Value);
            Assert.Equal((read.Text, read.Digest, read), (made.Text, made.Digest, made));
        }
    }

    [Fact]
    public void An_event_holds_the_digest_or_the_disclosure_counts_for_nothing()
    {
        var made = SaltedDisclosure.Of(new byte[16], "school", "Lincoln Middle School");
        Assert.Null(made.HeldBy([made.Digest]));
        Assert.Equal(SealFaultKind.DisclosureNotCommitted, SaltedDisclosure.Of(new byte[16], "school", "Another").HeldBy([made.Digest])!.Kind);
        Assert.NotEqual(made.Digest, SaltedDisclosure.Of([.. new byte[15], 1], "school", "Lincoln Middle School").Digest);
        Assert.Throws<ArgumentException>(() => SaltedDisclosure.Of(new byte[15], "a", "b"));
    }

    [Theory]
    [InlineData("[\"a\",\"b\"]")]
    [InlineData("[\"a\",\"b\",1]")]
    [InlineData("[\"a\",\"b\",\"c\",\"d\"]")]
    [InlineData("{\"a\":1}")]
    [InlineData("not json")]
    public void What_is_not_salt_name_and_value_is_refused(string json) =>
        Assert.False(SaltedDisclosure.Parse(Base64Text.WriteUrl(Utf8(json))).IsGood);

    [Theory]
    [InlineData("WyJhIl0=")]
    [InlineData("Wy Jh")]
    [InlineData("WyJhIg/+")]
    [InlineData("\u20ac")]
    [InlineData("WyJhI")]
    [InlineData("WyJhIl1")]
    public void Only_base64_for_urls_is_read(string text) =>
        Assert.Equal(SealFaultKind.DisclosureMalformed, SaltedDisclosure.Parse(text).Fault!.Kind);
}
