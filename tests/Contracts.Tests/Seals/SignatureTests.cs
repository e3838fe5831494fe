using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Ed25519 against RFC 8032 and Wycheproof; keys of notes as text.</summary>
public sealed class SignatureTests
{
    private const string Name = "ledger.example/a";

    [Fact]
    public void Keys_and_signatures_are_those_of_rfc_8032() =>
        Assert.All(Vectors("ed25519"), vector =>
        {
            var (seed, message) = (Hex(vector, "secret_seed_hex"), Hex(vector, "message_hex"));
            var (key, signature) = (Hex(vector, "public_key_hex"), Hex(vector, "signature_hex"));
            Assert.Equal(key, Ed25519.PublicKey(seed));
            Assert.Equal(signature, Ed25519.Sign(seed, message));
            Assert.True(Ed25519.Verify(key, message, signature));
            Assert.False(Ed25519.Verify(key, [.. message, 0], signature));
        });

    [Fact]
    public void Every_case_of_wycheproof_comes_out_as_published()
    {
        var vectors = Vectors("wycheproof");
        var held = 0;
        foreach (var vector in vectors)
        {
            var holds = Ed25519.Verify(Hex(vector, "pk"), Hex(vector, "msg"), Hex(vector, "sig"));
            Assert.True((Text(vector, "result") == "valid") == holds, $"{vector["tc"]} {vector["comment"]}");
            held += holds ? 1 : 0;
        }

        Assert.Equal((151, 88), (vectors.Count, held));
    }

    [Fact]
    public void A_public_key_is_read_as_it_is_written() =>
        Assert.All(Keys(), vkey => Assert.Equal(vkey, NoteVerifier.Parse(vkey).Value.VKey));

    [Fact]
    public void A_public_key_with_any_part_missing_or_any_byte_changed_is_refused()
    {
        var tried = 0;
        foreach (var vkey in Keys())
        {
            for (var start = 0; start < vkey.Length; start++)
            {
                for (var end = start + 1; end <= vkey.Length; end++)
                {
                    if (end - start == vkey.Length) { continue; }
                    Assert.False(NoteVerifier.Parse(vkey[start..end]).IsGood, vkey[start..end]);
                    tried++;
                }

                var raised = vkey.ToCharArray();
                raised[start]++;
                Assert.False(NoteVerifier.Parse(new string(raised)).IsGood, new string(raised));
            }
        }

        Assert.True(tried > 10_000);
        Assert.All(Texts(Group("notes"), "bad_vkeys"), bad => Assert.False(NoteVerifier.Parse(bad).IsGood, bad));
        Assert.Equal(SealFaultKind.KeyTypeUnknown, NoteVerifier.Parse(Texts(Group("notes"), "bad_vkeys")[1]).Fault!.Kind);
    }

    [Fact]
    public void A_private_key_is_read_as_it_is_written_and_never_printed()
    {
        var text = Text(Group("golden_log"), "skey");
        var signer = NoteSigner.Parse(text).Value;
        Assert.Equal(text, signer.ToSecretText());
        Assert.Equal(Text(Group("golden_log"), "vkey"), signer.ToString());
        for (var length = 0; length < text.Length; length++) { Assert.False(NoteSigner.Parse(text[..length]).IsGood); }
        Assert.Throws<ArgumentException>(() => new NoteSigner(Name, NoteKeyType.Ed25519, new byte[31]));
        Assert.Throws<ArgumentException>(() => new NoteSigner("a b", NoteKeyType.Ed25519, new byte[32]));
        Assert.Throws<ArgumentException>(() => new NoteSigner("a+b", NoteKeyType.Ed25519, new byte[32]));
    }

    [Fact]
    public void One_key_and_text_have_one_signature()
    {
        var signer = new NoteSigner(Name, NoteKeyType.Ed25519, new byte[32]);
        Assert.Equal(signer.Sign("text\n").ToString(), signer.Sign("text\n").ToString());
        Assert.Throws<InvalidOperationException>(() => signer.Cosign("text\n", 0));
        Assert.Throws<InvalidOperationException>(() => new NoteSigner(Name, NoteKeyType.Cosignature, new byte[32]).Sign("text\n"));
    }

    private static IEnumerable<string> Keys() =>
        [Text(Group("lv1"), "log_vkey"), Text(Group("lv1"), "witness_vkey"), .. Vectors("notes").Select(vector => Text(vector, "vkey")).Distinct()];
}
