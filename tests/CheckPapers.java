import java.io.InputStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.TreeMap;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;

/**
 * Checks PDF files against PDF/A-3a and PDF/UA-1 with veraPDF, all in one run of Java.
 *
 * Arguments: the files. Prints, tab-separated, one line a broken rule (file, flavour, clause, message), and one line
 * a finished check (file, flavour, "checked", number of things looked at), so that a check which never ran is seen.
 */
public class CheckPapers {
    private static final String[] FLAVOURS = {"3a", "ua1"};
    private static final int FAILURES_KEPT = 20;

    public static void main(String[] files) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        for (String file : files) {
            for (String flavour : FLAVOURS) {
                check(Path.of(file), flavour);
            }
        }
    }

    private static void check(Path file, String name) throws Exception {
        var foundry = Foundries.defaultInstance();
        var flavour = PDFAFlavour.fromString(name);
        try (InputStream content = Files.newInputStream(file);
                var parser = foundry.createParser(content, flavour, flavour);
                var validator = foundry.createValidator(flavour, FAILURES_KEPT, false, true, false)) {
            var result = validator.validate(parser);
            var broken = new TreeMap<String, String>();
            for (TestAssertion assertion : result.getTestAssertions()) {
                if (assertion.getStatus() == TestAssertion.Status.FAILED) {
                    var rule = assertion.getRuleId();
                    broken.putIfAbsent(rule.getClause() + " " + rule.getTestNumber(), assertion.getMessage());
                }
            }
            if (!result.isCompliant() && broken.isEmpty()) {
                broken.put("-", "not compliant, and no rule was named");
            }
            broken.forEach((clause, message) -> say(file, name, clause, message));
            say(file, name, "checked", String.valueOf(result.getTotalAssertions()));
        }
    }

    private static void say(Path file, String flavour, String what, String more) {
        System.out.println(String.join("\t", file.getFileName().toString(), flavour, what, more.replaceAll("\\s+", " ")));
    }
}
