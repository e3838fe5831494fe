using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Signed notes, checkpoints, proofs as text and policies against the published examples, and damaged.</summary>
public sealed class NoteTests(ITestOutputHelper output)
{
    private static readonly JsonObject Own = Group("lv1");

    private static readonly NoteVerifier Log = NoteVerifier.Parse(Text(Own, "log_vkey")).Value;

    private static readonly NoteVerifier Witness = NoteVerifier.Parse(Text(Own, "witness_vkey")).Value;

    private static readonly string Signed = Text(Own, "checkpoint_size7_text_with_cosignature");

    [Fact]
    public void Published_notes_hold_or_fail_as_published()
    {
        var good = Hex(Vectors("notes")[1], "note_hex");
        foreach (var vector in Vectors("notes"))
        {
            // One note is told by its making: the body and a hundred and one times the same signature.
            var note = vector["note_hex"] is null
                ? Utf8(SignedNote.Parse(good).Value.Text + "\n" + string.Concat(Enumerable.Repeat(SignedNote.Parse(good).Value.Signatures[0].ToString(), 101)))
                : Hex(vector, "note_hex");
            var key = NoteVerifier.Parse(Text(vector, "vkey")).Value;
            var opened = SignedNote.Parse(note).TryGet(out var read, out var fault) ? read.Open(key).Fault : fault;
            Assert.True((bool)vector["valid"]! == opened is null, $"{vector["why"]}: {opened}");
            if (opened is null) { Assert.Equal(note, read!.ToBytes()); }
        }
    }

    [Fact]
    public void A_published_private_key_signs_the_published_note()
    {
        var vector = Vectors("notes").First(note => note["skey"] is not null);
        var signer = NoteSigner.Parse(Text(vector, "skey")).Value;
        var text = SignedNote.Parse(Hex(vector, "note_hex")).Value.Text;
        Assert.Equal(Hex(vector, "note_hex"), SignedNote.Of(text, signer.Sign(text)).ToBytes());
    }

    [Fact]
    public void The_checkpoints_of_a_log_of_others_open_and_are_signed_again_to_the_byte()
    {
        var log = Group("golden_log");
        var signer = NoteSigner.Parse(Text(log, "skey")).Value;
        Assert.All((JsonArray)log["checkpoints"]!, point =>
        {
            var opened = Checkpoint.Open(Hex(point!, "checkpoint_hex"), NoteVerifier.Parse(Text(log, "vkey")).Value).Value.Checkpoint;
            Assert.Equal(((long)point!["size"]!, Text(point, "root_hex")), (opened.Size, opened.Root.ToString()));
            Assert.Equal(Hex(point, "checkpoint_hex"), SignedNote.Of(opened.Text, signer.Sign(opened.Text)).ToBytes());
        });
    }

    [Fact]
    public void Lines_of_unknown_keys_are_passed_over_even_under_a_known_name_or_id()
    {
        var stranger = new NoteSigner(Log.Name, NoteKeyType.Ed25519, new byte[32]);
        var note = SignedNote.Parse(Utf8(Signed)).Value;
        var wrong = note.Signatures[0].Signature.ToArray();
        var crowded = note.With(stranger.Sign("another text\n")).With(new NoteSignature("elsewhere", Log.KeyId, wrong)).With(new NoteSignature("\U0001F602", 1, wrong));
        Assert.Equal([Log, Witness], Checkpoint.Open(crowded.ToBytes(), Log, Witness).Value.SignedBy);
        Assert.Equal(SealFaultKind.SignatureUnknown, note.Open(stranger.Verifier).Fault!.Kind);
        Assert.Equal(SealFaultKind.SignatureUnknown, Checkpoint.Open(crowded.ToBytes(), new NoteSigner("other", NoteKeyType.Ed25519, new byte[32]).Verifier, Witness).Fault!.Kind);
    }

    [Fact]
    public void One_wrong_signature_of_a_known_key_refuses_the_note()
    {
        var note = SignedNote.Parse(Utf8(Signed)).Value;
        var wrong = note.Signatures[0].Signature.ToArray();
        wrong[5] ^= 1;
        var doubled = note.With(new NoteSignature(Log.Name, Log.KeyId, wrong));
        Assert.Equal(SealFaultKind.SignatureWrong, Checkpoint.Open(doubled.ToBytes(), Log).Fault!.Kind);
        Assert.True(Checkpoint.Open(doubled.ToBytes(), Witness).Fault!.Kind == SealFaultKind.OriginDiffers);
    }

    [Fact]
    public void A_checkpoint_of_another_origin_is_refused()
    {
        var text = new Checkpoint("elsewhere.example", 7, Digest.Zero).Text;
        var signer = new NoteSigner(Log.Name, NoteKeyType.Ed25519, Hex(Vectors("ed25519")[0], "secret_seed_hex"));
        Assert.Equal(Log.VKey, signer.Verifier.VKey);
        Assert.Equal(SealFaultKind.OriginDiffers, Checkpoint.Open(SignedNote.Of(text, signer.Sign(text)).ToBytes(), Log).Fault!.Kind);
    }

    [Fact]
    public void A_witness_signs_with_its_time()
    {
        var note = SignedNote.Parse(Utf8(Signed)).Value;
        var time = NoteVerifier.TimeOf(note.Signatures[1].Signature.Span)!.Value;
        var witness = new NoteSigner(Witness.Name, NoteKeyType.Cosignature, Hex(Vectors("ed25519")[1], "secret_seed_hex"));
        Assert.Equal(Witness.VKey, witness.Verifier.VKey);
        Assert.Equal(Signed, (note with { Signatures = [note.Signatures[0], witness.Cosign(note.Text, time)] }).ToString());
        Assert.Equal(SealFaultKind.SignatureWrong, (note with { Signatures = [new NoteSignature(Witness.Name, Witness.KeyId, note.Signatures[0].Signature)] }).Open(Witness).Fault!.Kind);
    }

    [Fact]
    public void No_damaged_note_is_taken_for_the_signed_one()
    {
        var tries = Tries("CONTRACTS_NOTES", 10_000);
        var random = new Random(2026);
        var refused = 0;
        for (var trial = 0; trial < tries; trial++)
        {
            var bytes = Damaged(random, Utf8(Signed));
            var opened = Checkpoint.Open(bytes, Log, Witness);
            // What is left is the same text under both signatures, or a line that stopped being of a known key.
            if (!opened.TryGet(out var checkpoint, out _)) { refused++; }
            else { Assert.Equal(SignedNote.Parse(Utf8(Signed)).Value.Text, checkpoint.Note.Text); Assert.Equal([Log], checkpoint.SignedBy); }
        }

        output.WriteLine($"{tries:N0} damaged notes, {refused:N0} refused, the others lost the witness's line and kept the text.");
        Assert.True(refused > tries / 2);
    }

    [Fact]
    public void Checkpoints_are_read_more_strictly_than_the_specification_asks()
    {
        var vectors = Group("checkpoints");
        Assert.All(Texts(vectors, "invalid"), text => Assert.Equal(SealFaultKind.CheckpointMalformed, Checkpoint.Parse(text).Fault!.Kind));
        // The valid ones of the source have roots that are not of 32 bytes.
        Assert.All(Texts(vectors, "valid"), text => Assert.Contains("32 bytes", Checkpoint.Parse(text, allowExtensions: true).Fault!.Detail, StringComparison.Ordinal));
        var plain = new Checkpoint("log", 3, Digest.Of([1]));
        Assert.Equal(plain, Checkpoint.Parse(plain.Text).Value);
        var extended = plain with { Extensions = ["more"] };
        Assert.Equal(extended, Checkpoint.Parse(extended.Text, allowExtensions: true).Value);
        foreach (var bad in new[] { extended.Text, plain.Text.Replace("3\n", "03\n", StringComparison.Ordinal), plain.Text + "\n", new Checkpoint("log", 0, Digest.Zero).Text, "" })
        {
            Assert.Equal(SealFaultKind.CheckpointMalformed, Checkpoint.Parse(bad).Fault!.Kind);
        }

        Assert.True(Checkpoint.Parse(new Checkpoint("log", 0, MerkleTree.EmptyRoot).Text).IsGood);
    }

    [Fact]
    public void Proofs_as_text_are_read_and_written_as_published()
    {
        var vectors = Group("proof_text");
        Assert.All((JsonArray)vectors["valid"]!, vector => Assert.Equal(Text(vector!, "text"), TlogProof.Parse(Utf8(Text(vector!, "text"))).Value.ToString()));
        Assert.All(Texts(vectors, "invalid"), text => Assert.Equal(SealFaultKind.ProofMalformed, TlogProof.Parse(Utf8(text)).Fault!.Kind));
    }

    [Fact]
    public void A_proof_as_text_stands_alone()
    {
        var events = (JsonArray)Own["events"]!;
        var text = Text(Own, "tlog_proof_event_index2_at7");
        var leaf = Digest.Parse(Text(events[2]!, "leaf_hash_hex"));
        Assert.Equal(7, TlogProof.Parse(Utf8(text)).Value.Verify(leaf, Log, Witness).Value.Checkpoint.Size);
        Assert.Equal(SealFaultKind.ProofRootDiffers, TlogProof.Parse(Utf8(text)).Value.Verify(Digest.Parse(Text(events[1]!, "leaf_hash_hex")), Log).Fault!.Kind);
        var anchor = TlogProof.Parse(Utf8(Text(Own, "tlog_proof_anchor_index6_at7"))).Value;
        Assert.True(anchor.Verify(Digest.Parse(Text(Own, "anchor_leaf_hash_hex")), Log).IsGood);
        Assert.Equal(SealFaultKind.ProofIndexOutside, (anchor with { Index = 7 }).Verify(leaf, Log).Fault!.Kind);
    }

    internal static byte[] Damaged(Random random, byte[] bytes)
    {
        var at = random.Next(bytes.Length);
        return random.Next(5) switch
        {
            0 => [.. bytes[..at], (byte)(bytes[at] ^ (1 << random.Next(8))), .. bytes[(at + 1)..]],
            1 => [.. bytes[..at], .. bytes[(at + 1)..]],
            2 => [.. bytes[..at], bytes[at], .. bytes[at..]],
            3 => bytes[..at],
            _ => [.. bytes[..at], (byte)random.Next(256), .. bytes[(at + 1)..], (byte)'\n'],
        };
    }
}
